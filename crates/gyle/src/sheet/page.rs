//! Laying text out in lines of eighty.

use quantity::{
    Caution, Measured, Note, Quantity, Spread, Units, Weight, show, show_interval, show_measured,
};

const WIDTH: usize = 80;
const LABEL: usize = 32;

/// A page that is being written.
pub struct Page {
    text: String,
    units: Units,
}

impl Page {
    pub fn new(units: Units) -> Self {
        Self {
            text: String::new(),
            units,
        }
    }

    pub fn finish(self) -> String {
        self.text
    }

    pub fn units(&self) -> Units {
        self.units
    }

    pub fn title(&mut self, title: &str) {
        self.line(title);
        self.line(&"=".repeat(textwrap::core::display_width(title).min(WIDTH)));
    }

    pub fn heading(&mut self, heading: &str) {
        self.line("");
        self.line(heading);
        self.line(&"-".repeat(textwrap::core::display_width(heading)));
    }

    /// A label and its value.
    pub fn row(&mut self, label: &str, value: &str) {
        let gap = LABEL
            .saturating_sub(textwrap::core::display_width(label))
            .max(2);
        let first = format!("  {label}{}", " ".repeat(gap));
        let rest = " ".repeat(2 + LABEL);
        let options = textwrap::Options::new(WIDTH)
            .initial_indent(&first)
            .subsequent_indent(&rest);
        self.wrapped(value, &options);
    }

    /// A label and a quantity.
    pub fn figure<Q: Quantity>(&mut self, label: &str, value: Q) {
        self.row(label, &show(value, self.units));
    }

    /// A label and a quantity with its spread.
    pub fn measured<Q: Quantity>(&mut self, label: &str, value: &Measured<Q>) {
        self.row(label, &self.show_measured(value));
    }

    /// A figure as the range in which it is likely to lie.
    pub fn interval<Q: Quantity>(&mut self, label: &str, value: &Measured<Q>) {
        let range = show_interval(value.lower(), value.upper(), self.units);
        self.row(label, &range);
    }

    pub fn show<Q: Quantity>(&self, value: Q) -> String {
        show(value, self.units)
    }

    pub fn show_measured<Q: Quantity>(&self, value: &Measured<Q>) -> String {
        if matches!(value.spread, Spread::Unstated) {
            show(value.value, self.units)
        } else {
            show_measured(value, self.units)
        }
    }

    /// A line of a table, laid out by the caller.
    pub fn table_line(&mut self, line: &str) {
        self.line(&format!("    {line}"));
    }

    /// A paragraph.
    pub fn paragraph(&mut self, text: &str) {
        let options = textwrap::Options::new(WIDTH)
            .initial_indent("  ")
            .subsequent_indent("  ");
        self.wrapped(text, &options);
    }

    /// Remarks; those that ask for action stand out by their word.
    pub fn notes<'n>(&mut self, notes: impl IntoIterator<Item = &'n Note>) {
        for note in notes {
            let mark = match note.weight {
                Weight::Act => "  ACT   ",
                Weight::Look => "  look  ",
                Weight::Fine => "  ·     ",
            };
            self.marked(mark, &note.text);
        }
    }

    /// Cautions beside the figures that they belong to.
    pub fn act_on<'c>(&mut self, cautions: impl IntoIterator<Item = &'c Caution>) {
        for caution in cautions {
            let text = caution.text();
            self.marked("  ACT   ", &format!("{}: {}", text.title, text.text));
        }
    }

    /// Cautions under a heading of their own, each with its source, and who decides.
    pub fn cautions<'c>(&mut self, cautions: impl IntoIterator<Item = &'c Caution>) {
        let mut cautions = cautions.into_iter().peekable();
        if cautions.peek().is_none() {
            return;
        }
        self.heading("Cautions");
        for caution in cautions {
            let text = caution.text();
            let told = format!(
                "{}. {} ({}; {})",
                text.title, text.text, text.source, text.mark
            );
            self.marked("  !  ", &told);
        }
        self.paragraph("Local codes, safety data sheets and licensed practice decide.");
    }

    /// A paragraph behind a mark.
    pub fn marked(&mut self, mark: &str, text: &str) {
        let rest = " ".repeat(textwrap::core::display_width(mark));
        let options = textwrap::Options::new(WIDTH)
            .initial_indent(mark)
            .subsequent_indent(&rest);
        self.wrapped(text, &options);
    }

    fn wrapped(&mut self, text: &str, options: &textwrap::Options<'_>) {
        if text.is_empty() {
            let indent = options.initial_indent.trim_end().to_owned();
            self.line(&indent);
        }
        for line in textwrap::wrap(text, options) {
            self.line(line.trim_end());
        }
    }

    fn line(&mut self, text: &str) {
        self.text.push_str(text);
        self.text.push('\n');
    }
}
