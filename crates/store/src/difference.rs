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

/// Lines in a row: those worth reading, or alike and far from any change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stretch<'d> {
    /// Changes and the lines around them.
    Shown(&'d [Line]),
    /// Lines that stand in both texts, far from a change.
    Folded(&'d [Line]),
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

    /// All lines in order, with those folded that are alike and more than `around`
    /// lines from a change.
    #[must_use]
    pub fn folded(&self, around: usize) -> Vec<Stretch<'_>> {
        let near: Vec<bool> = (0..self.lines.len())
            .map(|i| self.is_near_a_change(i, around))
            .collect();
        let mut rest = self.lines.as_slice();
        near.chunk_by(|a, b| a == b)
            .map(|run| {
                let (lines, after) = rest.split_at(run.len());
                rest = after;
                if run.first() == Some(&true) {
                    Stretch::Shown(lines)
                } else {
                    Stretch::Folded(lines)
                }
            })
            .collect()
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
        for stretch in self.folded(3) {
            match stretch {
                Stretch::Folded(_) => skipped = true,
                Stretch::Shown(lines) => {
                    if std::mem::take(&mut skipped) {
                        writeln!(f, "@@")?;
                    }
                    for line in lines {
                        let mark = match line.change {
                            Change::Same => ' ',
                            Change::Removed => '-',
                            Change::Added => '+',
                        };
                        writeln!(f, "{mark}{}", line.text.trim_end_matches(['\n', '\r']))?;
                    }
                }
            }
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

        #[test]
        fn folding_loses_no_line_and_hides_no_change(old in "([ab]\n){0,30}", new in "([ab]\n){0,30}", around in 0_usize..4) {
            let difference = Difference::between(&old, &new);
            let mut all = Vec::new();
            for stretch in difference.folded(around) {
                match stretch {
                    Stretch::Shown(lines) => all.extend_from_slice(lines),
                    Stretch::Folded(lines) => {
                        prop_assert!(lines.iter().all(|line| line.change == Change::Same));
                        all.extend_from_slice(lines);
                    }
                }
            }
            prop_assert_eq!(all, difference.lines);
        }
    }
}
