//! What changed between two texts, line by line.

use std::fmt;

use similar::{ChangeTag, TextDiff};

/// What happened to a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// It stands in both.
    Same,
    /// It stands in the old text only.
    Removed,
    /// It stands in the new text only.
    Added,
}

/// One line of either text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// What happened to it.
    pub change: Change,
    /// The line, with its line end where it has one.
    pub text: String,
    /// Its number in the old text, from one.
    pub old_number: Option<usize>,
    /// Its number in the new text, from one.
    pub new_number: Option<usize>,
}

/// The lines of two texts side by side.
///
/// The lines that are not `Added` are the old text, those that are not
/// `Removed` the new one. `Display` shows what changed with three lines around
/// it, each change marked with `-` or `+`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// All lines, in order.
    pub lines: Vec<Line>,
}

impl Difference {
    /// What changed from `old` to `new`.
    #[must_use]
    pub fn between(old: &str, new: &str) -> Self {
        let lines = TextDiff::from_lines(old, new)
            .iter_all_changes()
            .map(|change| Line {
                change: match change.tag() {
                    ChangeTag::Equal => Change::Same,
                    ChangeTag::Delete => Change::Removed,
                    ChangeTag::Insert => Change::Added,
                },
                text: change.value().to_owned(),
                old_number: change.old_index().map(|i| i + 1),
                new_number: change.new_index().map(|i| i + 1),
            })
            .collect();
        Self { lines }
    }

    /// Whether the two texts are the same.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.lines.iter().all(|line| line.change == Change::Same)
    }

    /// Whether line `i` is a change or within `around` lines of one.
    fn is_near_a_change(&self, i: usize, around: usize) -> bool {
        self.lines
            .iter()
            .skip(i.saturating_sub(around))
            .take(i.min(around) + 1 + around)
            .any(|line| line.change != Change::Same)
    }
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut skipped = false;
        for (i, line) in self.lines.iter().enumerate() {
            if !self.is_near_a_change(i, 3) {
                skipped = true;
                continue;
            }
            if std::mem::take(&mut skipped) {
                writeln!(f, "@@")?;
            }
            let mark = match line.change {
                Change::Same => ' ',
                Change::Removed => '-',
                Change::Added => '+',
            };
            writeln!(f, "{mark}{}", line.text.trim_end_matches(['\n', '\r']))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn only_the_neighbourhood_of_a_change_is_shown() {
        let old = "a\nb\nc\nd\ne\nf\ng\n";
        let shown = Difference::between(old, &old.replace("f\n", "F\n")).to_string();
        assert_eq!(shown, "@@\n c\n d\n e\n-f\n+F\n g\n");
    }

    #[test]
    fn equal_texts_differ_in_nothing() {
        let difference = Difference::between("a\nb", "a\nb");
        assert!(difference.is_empty());
        assert_eq!(difference.to_string(), "");
    }

    proptest! {
        #[test]
        fn both_texts_can_be_put_together_again(old in "([ab\r]{0,3}\n?){0,20}", new in "([ab\r]{0,3}\n?){0,20}") {
            let difference = Difference::between(&old, &new);
            let without = |gone: Change| -> String {
                difference.lines.iter().filter(|line| line.change != gone).map(|line| line.text.as_str()).collect()
            };
            prop_assert_eq!(without(Change::Added), old.clone());
            prop_assert_eq!(without(Change::Removed), new.clone());
            prop_assert_eq!(difference.is_empty(), old == new);
        }
    }
}
