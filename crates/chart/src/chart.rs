//! What every chart can do.

use crate::grid::Grid;
use crate::heading::Heading;
use crate::mark::{Area, c};
use crate::saved;
use crate::text::{LINE, wrap_at};
use crate::tip::{self, Tip};
use maud::{Markup, html};

/// For which place a drawing is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// A column of a desktop page, or a sheet of paper: 600 units wide.
    Wide,
    /// A phone: 340 units wide.
    Narrow,
}

impl Size {
    /// Width of the drawing in its own units; labels are 12 units high.
    #[must_use]
    pub fn width(self) -> f64 {
        match self {
            Self::Wide => 600.0,
            Self::Narrow => 340.0,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Wide => "wide",
            Self::Narrow => "narrow",
        }
    }
}

/// Along which side the reading places lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Along {
    X,
    Y,
}

/// A chart drawn for one size.
#[derive(Debug, Clone)]
pub struct Drawing {
    pub(crate) size: Size,
    pub(crate) height: f64,
    /// Where the cursor moves.
    pub(crate) plot: Area,
    pub(crate) along: Along,
    /// Places of the tips, in their order.
    pub(crate) at: Vec<f64>,
    pub(crate) body: Markup,
}

/// A chart: data that can be drawn, told and saved.
///
/// Call the provided methods; the required ones are what each kind of chart adds.
pub trait Chart: std::fmt::Debug {
    /// Name, title and message.
    fn heading(&self) -> &Heading;
    /// The drawing for one size.
    fn draw(&self, size: Size) -> Drawing;
    /// What can be read at each place of the drawing, in its order.
    fn tips(&self) -> Vec<Tip>;
    /// The figures as rows and columns.
    fn grid(&self) -> Grid;
    /// What the drawing says beside its rows: aims, thresholds, marks.
    fn notes(&self) -> Vec<String>;

    /// The chart for a page: a `<figure>` with the inline drawings and the title.
    ///
    /// It needs [`crate::STYLE`] in the page and, to read values, [`crate::SCRIPT`].
    #[must_use]
    fn markup(&self) -> Markup {
        let heading = self.heading();
        let tips = self.tips();
        let told = (!tips.is_empty()).then(|| tip::json(&tips));
        let summary = summary(heading, &self.notes());
        let inner = html! {
            (svg(&self.draw(Size::Wide), heading, &summary))
            (svg(&self.draw(Size::Narrow), heading, &summary))
        };
        html! {
            figure.chart-figure id=(heading.id) {
                figcaption.chart-title id={ (heading.id) "-caption" } { (heading.title) }
                @match told {
                    Some(rows) => {
                        div.chart tabindex="0" role="group" aria-labelledby={ (heading.id) "-caption" }
                            aria-description="Arrow keys read the values." data-rows=(rows) { (inner) }
                    },
                    None => div.chart { (inner) },
                }
            }
        }
    }

    /// The chart for a page that runs no script: the drawings and the title, no readings.
    #[must_use]
    fn still(&self) -> Markup {
        let heading = self.heading();
        let summary = summary(heading, &self.notes());
        html! {
            figure.chart-figure id=(heading.id) {
                figcaption.chart-title { (heading.title) }
                (svg(&self.draw(Size::Wide), heading, &summary))
                (svg(&self.draw(Size::Narrow), heading, &summary))
            }
        }
    }

    /// The figures as a `<table>` inside `<details>`: the chart's twin in words.
    #[must_use]
    fn table(&self) -> Markup {
        self.grid().table(&self.heading().title, &self.notes())
    }

    /// The figures as a comma-separated file (RFC 4180), every digit kept.
    #[must_use]
    fn csv(&self) -> String {
        self.grid().csv()
    }

    /// The chart as an SVG file that stands alone, with the title and the light style.
    #[must_use]
    fn standalone_svg(&self) -> String {
        let heading = self.heading();
        let drawing = self.draw(Size::Wide);
        let width = drawing.size.width();
        let lines = wrap_at(&heading.title, width, 4, 15.0);
        let above = 6.0 + (LINE + 4.0) * lines.len() as f64;
        let body = html! {
            @for (i, line) in lines.iter().enumerate() {
                text.chart-heading x="2" y=(c(16.0 + (LINE + 4.0) * i as f64)) { (line) }
            }
            g transform=(format!("translate(0 {})", c(above))) { (drawing.body) }
        };
        saved::file(
            heading,
            &summary(heading, &self.notes()),
            (width, above + drawing.height),
            &body,
        )
    }
}

fn summary(heading: &Heading, notes: &[String]) -> String {
    let mut said = heading.summary.trim().to_owned();
    for note in notes {
        if !said.is_empty() {
            said.push_str(if said.ends_with(['.', '!', '?']) {
                " "
            } else {
                ". "
            });
        }
        said.push_str(note);
    }
    said
}

fn svg(drawing: &Drawing, heading: &Heading, summary: &str) -> Markup {
    let size = drawing.size.name();
    let id = format!("{}-{size}", heading.id);
    let at: Vec<String> = drawing.at.iter().map(|&p| c(p)).collect();
    let (along, cursor) = match drawing.along {
        Along::X => (
            "x",
            (
                drawing.plot.left,
                drawing.plot.top,
                drawing.plot.left,
                drawing.plot.bottom,
            ),
        ),
        Along::Y => (
            "y",
            (
                drawing.plot.left,
                drawing.plot.top,
                drawing.plot.right,
                drawing.plot.top,
            ),
        ),
    };
    html! {
        svg class={ "chart-svg chart-" (size) } role="img"
            viewBox=(format!("0 0 {} {}", c(drawing.size.width()), c(drawing.height)))
            aria-labelledby={ (id) "-title" } aria-describedby={ (id) "-desc" }
            data-along=(along) data-at=(at.join(" ")) {
            title id={ (id) "-title" } { (heading.title) }
            desc id={ (id) "-desc" } { (summary) }
            (drawing.body)
            line.chart-cursor x1=(c(cursor.0)) y1=(c(cursor.1)) x2=(c(cursor.2)) y2=(c(cursor.3)) {}
        }
    }
}
