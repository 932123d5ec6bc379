//! Colours by name, and the forms that carry the meaning beside them.

/// A colour of the sheet. The style sheet says which, for light, dark and print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tone {
    /// The colour of the text.
    #[default]
    Ink,
    /// Teal, for water and for what is reckoned.
    Water,
    /// Copper, the accent: the aim, or what is looked at.
    Copper,
    /// Grey blue.
    Slate,
    /// Grey green.
    Moss,
    /// Grey purple.
    Plum,
    /// Pale teal.
    Mist,
    /// Pale yellow.
    Sand,
    /// Pale orange.
    Amber,
    /// Pale grey.
    Stone,
}

impl Tone {
    /// Every tone, strong ones first.
    pub const ALL: [Self; 10] = [
        Self::Ink,
        Self::Water,
        Self::Copper,
        Self::Slate,
        Self::Moss,
        Self::Plum,
        Self::Mist,
        Self::Sand,
        Self::Amber,
        Self::Stone,
    ];

    /// The name that the classes end in.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Ink => "ink",
            Self::Water => "water",
            Self::Copper => "copper",
            Self::Slate => "slate",
            Self::Moss => "moss",
            Self::Plum => "plum",
            Self::Mist => "mist",
            Self::Sand => "sand",
            Self::Amber => "amber",
            Self::Stone => "stone",
        }
    }

    pub(crate) fn fill(self) -> String {
        format!("chart-fill-{}", self.name())
    }

    pub(crate) fn line(self) -> String {
        format!("chart-line-{}", self.name())
    }

    /// Text on paper.
    pub(crate) fn text(self) -> String {
        format!("chart-text-{}", self.name())
    }

    /// Text on an area of this tone.
    pub(crate) fn on(self) -> String {
        format!("chart-on-{}", self.name())
    }
}

/// How a line is dashed, so that lines differ without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Stroke {
    /// Unbroken.
    #[default]
    Solid,
    /// Long dashes.
    Dashed,
    /// Dots.
    Dotted,
    /// Dash, dot.
    DashDot,
}

impl Stroke {
    pub(crate) fn class(self) -> &'static str {
        match self {
            Self::Solid => "chart-solid",
            Self::Dashed => "chart-dashed",
            Self::Dotted => "chart-dotted",
            Self::DashDot => "chart-dash-dot",
        }
    }
}

/// The shape of a reading, so that readings differ without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shape {
    /// A ring.
    #[default]
    Circle,
    /// A square.
    Square,
    /// A square on its corner.
    Diamond,
    /// A triangle.
    Triangle,
}
