//! What can go wrong at the command line, how it is told, and how the process
//! ends then. Standard output stays free for results.

use batch::liquor::Wrong;
use batch::{Fault, wire};
use miette::{LabeledSpan, MietteDiagnostic, NamedSource, Report, SourceSpan};

use crate::cli::exit;
use crate::input::Source;

/// At most so many faults of one document are drawn; the rest are counted.
const FAULTS_DRAWN: usize = 20;

/// Why a command did not do what was asked.
#[derive(Debug)]
pub enum Problem {
    /// A document with faults.
    Document {
        /// Them.
        faults: Vec<Fault>,
        /// The text they stand in.
        source: Source,
        /// Whether to tell them as JSON.
        json: bool,
    },
    /// Readings that cannot be used.
    Readings {
        /// What is wrong with them.
        faults: Vec<Fault>,
        /// Whether to tell it as JSON.
        json: bool,
    },
    /// A file that is too large.
    TooLarge {
        /// Its name.
        name: String,
        /// The most that is read \[bytes\].
        most: usize,
    },
    /// A file that is not text.
    NotText {
        /// Its name.
        name: String,
        /// The first byte that is not UTF-8.
        at: usize,
    },
    /// No document of that name, or several.
    NotOne {
        /// What was asked for.
        name: String,
        /// What there is.
        known: String,
    },
    /// A question without an answer: what is wrong, and what would work.
    NoAnswer {
        /// That.
        message: String,
    },
    /// A file that cannot be read or written.
    File {
        /// What happened.
        message: String,
    },
    /// A use case that cannot be done.
    App(app::AppError),
    /// Something that cannot happen.
    Defect(String),
    /// Everything has been said on standard output.
    AlreadyTold,
}

impl Problem {
    /// A question that a model refuses, in its words.
    pub fn no_answer(error: impl ToString) -> Self {
        Self::NoAnswer {
            message: error.to_string(),
        }
    }

    /// A question that cannot be used, field by field.
    pub fn unusable(wrong: &[Wrong]) -> Self {
        let said: Vec<String> = wrong.iter().map(ToString::to_string).collect();
        Self::no_answer(said.join("\n"))
    }

    /// A document with faults.
    pub fn document(faults: Vec<Fault>, source: Source, json: bool) -> Self {
        Self::Document {
            faults,
            source,
            json,
        }
    }

    /// A file that cannot be read.
    pub fn read(name: &str, error: &std::io::Error) -> Self {
        Self::File {
            message: format!("cannot read {name}: {error}"),
        }
    }

    /// A file that cannot be written.
    pub fn write(name: &str, error: &std::io::Error) -> Self {
        Self::File {
            message: format!("cannot write {name}: {error}"),
        }
    }

    /// The exit code.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Document { .. }
            | Self::Readings { .. }
            | Self::TooLarge { .. }
            | Self::NotText { .. }
            | Self::NotOne { .. }
            | Self::NoAnswer { .. }
            | Self::AlreadyTold => exit::INPUT,
            Self::File { .. } | Self::App(app::AppError::Store(_)) => exit::FILE,
            Self::App(_) => exit::INPUT,
            Self::Defect(_) => exit::DEFECT,
        }
    }

    /// No batch of the store, or several, where one was asked for.
    pub fn not_one(wanted: &str, found: &str) -> Self {
        Self::NotOne {
            name: wanted.to_owned(),
            known: found.to_owned(),
        }
    }

    /// Tells it on standard error.
    pub fn report(&self) {
        match self {
            Self::Document {
                faults,
                source,
                json: false,
            } => draw(faults, source),
            Self::Document { faults, source, .. } => tell_json(faults, &source.text),
            Self::Readings { faults, json: true } => tell_json(faults, ""),
            Self::Readings { faults, .. } => {
                for fault in faults {
                    eprintln!("{fault}");
                }
            }
            Self::TooLarge { name, most } => {
                eprintln!("{name} is too large (up to {most} bytes are read)");
            }
            Self::NotText { name, at } => {
                eprintln!(
                    "{name} is not a text file: byte {} is not UTF-8; a batch document is a TOML text file",
                    at + 1
                );
            }
            Self::NotOne { name, known } => {
                eprintln!("{name:?} names no single document; there is {known}");
            }
            Self::File { message } | Self::NoAnswer { message } => eprintln!("{message}"),
            Self::App(error) => eprintln!("{error}"),
            Self::Defect(message) => {
                eprintln!("a defect of the program, please report it: {message}");
            }
            Self::AlreadyTold => {}
        }
    }
}

fn tell_json(faults: &[Fault], text: &str) {
    let check = wire::Check::faulty(faults, text);
    eprintln!(
        "{}",
        serde_json::to_string_pretty(&check).unwrap_or_default()
    );
}

fn draw(faults: &[Fault], source: &Source) {
    for fault in faults.iter().take(FAULTS_DRAWN) {
        let report = Report::new(diagnostic(fault)).with_source_code(
            NamedSource::new(&source.name, source.text.clone()).with_language("toml"),
        );
        eprintln!("{report:?}");
    }
    if faults.len() > FAULTS_DRAWN {
        eprintln!("and {} more", faults.len() - FAULTS_DRAWN);
    }
}

fn diagnostic(fault: &Fault) -> MietteDiagnostic {
    let message = if fault.path.is_empty() {
        fault.message.clone()
    } else {
        format!("{}: {}", fault.path, fault.message)
    };
    let mut diagnostic = MietteDiagnostic::new(message);
    if !fault.help.is_empty() {
        diagnostic = diagnostic.with_help(&fault.help);
    }
    if fault.span.is_empty() {
        return diagnostic;
    }
    let span = SourceSpan::new(fault.span.start.into(), fault.span.len());
    diagnostic.with_label(LabeledSpan::new_with_span(Some("here".to_owned()), span))
}

impl From<app::AppError> for Problem {
    fn from(error: app::AppError) -> Self {
        Self::App(error)
    }
}

impl From<store::StoreError> for Problem {
    fn from(error: store::StoreError) -> Self {
        Self::App(error.into())
    }
}
