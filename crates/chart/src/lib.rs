//! Charts as SVG from data: web pages, reports and files share them.
//!
//! A chart is plain data, already in the reader's units and with ready labels.
//! The [`Chart`] trait turns it into four things: [`Chart::markup`] for a page,
//! [`Chart::table`] as its twin in words, [`Chart::csv`] and
//! [`Chart::standalone_svg`] as files.
//!
//! The markup holds neither styles nor scripts of its own, so that a page may
//! forbid both inline: the page links [`STYLE`] and [`SCRIPT`] once. Colours are
//! classes, and no meaning rests on colour alone: lines differ in dash and carry
//! labels, segments carry labels, readings differ in shape.
//!
//! Each chart is drawn twice, for a wide and for a narrow place, because a
//! drawing that is only scaled becomes unreadable on a phone; the style shows the
//! one that suits.
//!
//! Values that cannot be drawn (not a number, infinite, at or below nought on a
//! logarithmic axis) are left out of the drawing, and blank in tables and files.
//!
//! ```
//! use chart::{Axis, Chart, CourseChart, Heading, Line, Panel, Stroke, Tone};
//!
//! let gravity = Panel::new(Axis::new("gravity", "SG").decimals(3))
//!     .line(Line::new("forecast", vec![(0.0, 1.052), (9.0, 1.011)], Tone::Water, Stroke::Solid));
//! let chart = CourseChart::new(
//!     Heading::new("course", "Course of the fermentation", "Gravity falls to 1.011 in nine days."),
//!     Axis::new("time", "d"),
//! )
//! .panel(gravity);
//! assert!(chart.csv().starts_with("time (d),forecast (SG)\r\n0,1.052\r\n"));
//! ```

mod activity;
mod balance;
mod bars;
mod breakpoint;
mod calendar;
mod cell_bar;
mod chart;
mod clip;
mod contribution;
mod course;
mod decay;
mod flow;
mod glass;
mod grid;
mod heading;
mod intervals;
mod mark;
mod number;
#[cfg(test)]
mod proof;
mod range;
mod rows;
mod saved;
mod scale;
mod season;
mod shift;
mod steps;
mod text;
mod tick;
mod tip;
mod titration;
mod tone;

pub use activity::{Activity, ActivityChart, Compound, Zone};
pub use balance::{BalanceChart, Ion, Water};
pub use breakpoint::{Breakpoint, BreakpointPlace};
pub use calendar::Names;
pub use cell_bar::CellBar;
pub use chart::{Chart, Drawing, Size};
pub use contribution::{Contribution, ContributionChart, Segment};
pub use course::{
    Band, BandPoint, CourseChart, Level, Line, Marker, Panel, Reading, Readings, Reference, Spot,
    Stretch,
};
pub use decay::{Decay, DecayWay, Left};
pub use flow::{Branch, FlowChart, Station};
pub use glass::Glass;
pub use grid::{Cell, Grid};
pub use heading::Heading;
pub use range::{Aim, Interval, RangeChart};
pub use scale::{Axis, Scale};
pub use season::{SeasonPanel, Seasons};
pub use shift::{Shift, ShiftChart};
pub use steps::{Step, StepsChart};
pub use tip::Tip;
pub use titration::{Titration, TitrationCurve};
pub use tone::{Shape, Stroke, Tone};

/// The style sheet of the charts: colours for light, dark and print, and the classes.
///
/// Colours are the variables `--chart-paper`, `--chart-ink`, `--chart-water` and so
/// on. Dark follows the system.
pub const STYLE: &str = concat!(
    include_str!("../assets/theme.css"),
    include_str!("../assets/marks.css"),
    include_str!("../assets/chart.css")
);

/// The script of the charts, an ES module: reads values by pointer, touch and keys.
///
/// It serves every element `.chart[data-rows]`, also those that come later, and
/// says what the keys reach in a polite live region.
pub const SCRIPT: &str = include_str!("../assets/chart.js");
