//! What a job found, as text and back: every number to its last bit, so that what is shown
//! of it later is what would have been shown at once.
//!
//! These forms are between a worker and whoever shows the result, both of one version of
//! the program: they are no interface, and nobody else reads them.

mod certainty;
mod comparing;
mod matching;
mod watch;
mod work;

use quantity::{Caution, Mark, Note, Source, Weight};
use serde_json::Value;

use crate::liquor::minerals::Change;
use crate::reader::{Assumption, Fault};
use crate::sign::Stage;

use comparing::compared_again;
pub use work::{read_outcome, write_outcome};

/// Can be kept as text, and comes back as it was.
pub trait Keep: Sized {
    /// As a value.
    fn keep(&self) -> Value;
    /// From that value; none for one that was not made by this program.
    fn back(kept: &Value) -> Option<Self>;
}

/// As text.
#[must_use]
pub fn write<T: Keep>(found: &T) -> String {
    found.keep().to_string()
}

/// From the text; none for one that was not written by this program.
#[must_use]
pub fn read<T: Keep>(text: &str) -> Option<T> {
    T::back(&serde_json::from_str(text).ok()?)
}

/// Each field by its name.
macro_rules! kept {
    ($($what:ty { $($field:ident),+ $(,)? })+) => {
        $(impl $crate::wire::result::Keep for $what {
            fn keep(&self) -> serde_json::Value {
                let mut all = serde_json::Map::new();
                $(all.insert(stringify!($field).to_owned(), self.$field.keep());)+
                serde_json::Value::Object(all)
            }

            fn back(kept: &serde_json::Value) -> Option<Self> {
                Some(Self {
                    $($field: $crate::wire::result::Keep::back(kept.get(stringify!($field))?)?,)+
                })
            }
        })+
    };
}
pub(crate) use kept;

/// One of a few, by its word.
macro_rules! kept_by_word {
    ($($what:ty: $all:expr, $word:expr;)+) => {
        $(impl $crate::wire::result::Keep for $what {
            fn keep(&self) -> serde_json::Value {
                $word(*self).into()
            }

            fn back(kept: &serde_json::Value) -> Option<Self> {
                let word = kept.as_str()?;
                $all.into_iter().find(|one| $word(*one) == word)
            }
        })+
    };
}
pub(crate) use kept_by_word;

/// Its shortest decimals that read as itself; JSON has no words for what is no number.
impl Keep for f64 {
    fn keep(&self) -> Value {
        format!("{self:?}").into()
    }

    fn back(kept: &Value) -> Option<Self> {
        kept.as_str()?.parse().ok()
    }
}

impl Keep for usize {
    fn keep(&self) -> Value {
        (*self).into()
    }

    fn back(kept: &Value) -> Option<Self> {
        Self::try_from(kept.as_u64()?).ok()
    }
}

impl Keep for u64 {
    fn keep(&self) -> Value {
        (*self).into()
    }

    fn back(kept: &Value) -> Option<Self> {
        kept.as_u64()
    }
}

impl Keep for u32 {
    fn keep(&self) -> Value {
        (*self).into()
    }

    fn back(kept: &Value) -> Option<Self> {
        kept.as_u64()?.try_into().ok()
    }
}

impl Keep for i64 {
    fn keep(&self) -> Value {
        (*self).into()
    }

    fn back(kept: &Value) -> Option<Self> {
        kept.as_i64()
    }
}

impl Keep for bool {
    fn keep(&self) -> Value {
        (*self).into()
    }

    fn back(kept: &Value) -> Option<Self> {
        kept.as_bool()
    }
}

impl Keep for String {
    fn keep(&self) -> Value {
        self.as_str().into()
    }

    fn back(kept: &Value) -> Option<Self> {
        kept.as_str().map(str::to_owned)
    }
}

/// None is null, so that what it holds must not be.
impl<T: Keep> Keep for Option<T> {
    fn keep(&self) -> Value {
        self.as_ref().map_or(Value::Null, Keep::keep)
    }

    fn back(kept: &Value) -> Option<Self> {
        match kept {
            Value::Null => Some(None),
            some => T::back(some).map(Some),
        }
    }
}

impl<T: Keep> Keep for Vec<T> {
    fn keep(&self) -> Value {
        self.iter().map(Keep::keep).collect()
    }

    fn back(kept: &Value) -> Option<Self> {
        kept.as_array()?.iter().map(T::back).collect()
    }
}

impl<A: Keep, B: Keep> Keep for (A, B) {
    fn keep(&self) -> Value {
        Value::Array(vec![self.0.keep(), self.1.keep()])
    }

    fn back(kept: &Value) -> Option<Self> {
        Some((A::back(kept.get(0)?)?, B::back(kept.get(1)?)?))
    }
}

impl<T: Keep> Keep for [T; 2] {
    fn keep(&self) -> Value {
        self.iter().map(Keep::keep).collect()
    }

    fn back(kept: &Value) -> Option<Self> {
        Some([T::back(kept.get(0)?)?, T::back(kept.get(1)?)?])
    }
}

impl<T: Keep> Keep for Box<T> {
    fn keep(&self) -> Value {
        self.as_ref().keep()
    }

    fn back(kept: &Value) -> Option<Self> {
        T::back(kept).map(Self::new)
    }
}

const WEIGHTS: [Weight; 3] = [Weight::Fine, Weight::Look, Weight::Act];

kept_by_word! {
    Weight: WEIGHTS, Weight::word;
    Stage: Stage::ALL, Stage::word;
}

impl Keep for Mark {
    fn keep(&self) -> Value {
        self.words().into()
    }

    fn back(kept: &Value) -> Option<Self> {
        Self::from_words(kept.as_str()?)
    }
}

impl Keep for Caution {
    fn keep(&self) -> Value {
        self.key().into()
    }

    fn back(kept: &Value) -> Option<Self> {
        let key = kept.as_str()?;
        Self::ALL.iter().copied().find(|one| one.key() == key)
    }
}

kept! {
    Note { weight, text }
    Source { text, mark }
    Assumption { path, value, source, mark }
}

impl Keep for Fault {
    fn keep(&self) -> Value {
        serde_json::json!({
            "from": self.span.start,
            "to": self.span.end,
            "path": self.path,
            "message": self.message,
            "help": self.help,
        })
    }

    fn back(kept: &Value) -> Option<Self> {
        let text = |name: &str| String::back(kept.get(name)?);
        Some(Self {
            span: usize::back(kept.get("from")?)?..usize::back(kept.get("to")?)?,
            path: text("path")?,
            message: text("message")?,
            help: text("help")?,
        })
    }
}

impl Keep for Change {
    fn keep(&self) -> Value {
        match self {
            Self::Set { path, written } => serde_json::json!({ "set": path, "to": written }),
            Self::Remove { path } => serde_json::json!({ "remove": path }),
            Self::Add { list, values } => {
                serde_json::json!({ "add": list, "values": values.keep() })
            }
        }
    }

    fn back(kept: &Value) -> Option<Self> {
        let text = |name: &str| kept.get(name).and_then(String::back);
        if let Some(path) = text("set") {
            let written = text("to")?;
            return Some(Self::Set { path, written });
        }
        if let Some(path) = text("remove") {
            return Some(Self::Remove { path });
        }
        Some(Self::Add {
            list: text("add")?,
            values: Keep::back(kept.get("values")?)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Refusal;
    use proptest::prelude::*;

    fn there_and_back<T: Keep>(what: &T) -> T {
        read(&write(what)).unwrap()
    }

    proptest! {
        #[test]
        fn numbers_come_back_to_the_last_bit(bits in any::<u64>()) {
            let number = f64::from_bits(bits);
            let back = there_and_back(&number);
            prop_assert!(back.to_bits() == bits || (number.is_nan() && back.is_nan()));
        }

        #[test]
        fn texts_and_what_holds_them_come_back(texts in prop::collection::vec(any::<Option<String>>(), 0..5)) {
            prop_assert_eq!(there_and_back(&texts), texts);
        }
    }

    #[test]
    fn the_few_come_back_by_their_words() {
        for weight in WEIGHTS {
            assert_eq!(there_and_back(&weight), weight);
        }
        for stage in Stage::ALL {
            assert_eq!(there_and_back(&stage), stage);
        }
        for caution in Caution::ALL {
            assert_eq!(there_and_back(caution), *caution);
        }
        let change = |path: &str| Change::Remove {
            path: path.to_owned(),
        };
        let changes = vec![
            change("a"),
            Change::Set {
                path: "b".to_owned(),
                written: "1".to_owned(),
            },
            Change::Add {
                list: "c".to_owned(),
                values: vec![("d".to_owned(), "2".to_owned())],
            },
        ];
        assert_eq!(there_and_back(&changes), changes);
    }

    #[test]
    fn what_was_not_written_here_is_refused() {
        assert_eq!(read::<Weight>("\"heavy\""), None);
        assert_eq!(read::<f64>("1.5"), None);
        assert_eq!(read::<Refusal>("{}"), None);
        assert_eq!(read::<String>("not json"), None);
    }
}
