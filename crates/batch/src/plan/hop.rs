//! A hop of the document as an addition of the plan: its alpha-acids on brew day.

use quantity::{Fraction, Mark, Measured, Quantity, Spread, Temperature};
use wort::hops::{self, Kept, Storage};
use wort::{HopAddition, HopTime, WortError};

use super::wort::range;
use crate::document::{HopEntry, HopSheet, HopUse};
use crate::reader::{Assumption, Filled};

/// The addition; what was taken for it is added to the assumptions.
pub(super) fn addition(
    place: usize,
    entry: &HopEntry,
    filled: &mut Filled,
) -> Result<HopAddition, WortError> {
    let mut packet = Packet {
        hop: &entry.hop,
        sheet: &entry.sheet,
        place,
        filled,
    };
    let now = packet.alpha_now()?;
    let sd = now.sd();
    Ok(HopAddition {
        name: entry.hop.clone(),
        alpha: now.value,
        alpha_sd: (sd > 0.0).then(|| Fraction::from_canonical(sd)),
        form: entry.sheet.form,
        mass: entry.amount.value,
        when: when(entry),
    })
}

/// Alpha-acids that storage has left in a hop; none where nothing is said of its storage.
pub(crate) fn alpha_left(
    hop: &str,
    sheet: &HopSheet,
) -> Result<Option<Measured<Fraction>>, WortError> {
    if sheet.storage_index.is_none() && sheet.age.is_none() {
        return Ok(None);
    }
    let mut packet = Packet {
        hop,
        sheet,
        place: 0,
        filled: &mut Filled::untold(),
    };
    packet.alpha_now().map(Some)
}

/// A packet of hops; what is taken for it is added to the assumptions.
struct Packet<'a> {
    hop: &'a str,
    sheet: &'a HopSheet,
    /// Which of the hops it is in the document.
    place: usize,
    filled: &'a mut Filled,
}

impl Packet<'_> {
    fn assume(&mut self, key: &str, told: impl FnOnce() -> (String, String, Mark)) {
        let place = self.place;
        self.filled.tell(|| {
            let (value, source, mark) = told();
            let path = format!("hop[{place}].{key}");
            [Assumption {
                path,
                value,
                source,
                mark,
            }]
        });
    }

    /// Alpha-acids now, with their spread.
    fn alpha_now(&mut self) -> Result<Measured<Fraction>, WortError> {
        let measured = self.alpha()?;
        let left = self.left(measured.value)?;
        // The packet's own spread stays as large a share of what is left.
        let share = left.value.ratio() / measured.value.ratio().max(f64::MIN_POSITIVE);
        let sd = left.sd().hypot(measured.sd() * share);
        Ok(Measured::with_sd(left.value, sd))
    }

    /// Alpha-acids when they were measured.
    fn alpha(&mut self) -> Result<Measured<Fraction>, WortError> {
        if let Some(alpha) = self.sheet.alpha {
            return Ok(alpha);
        }
        let cultivar = hops::find(self.hop)?;
        self.assume("alpha", || {
            (
                format!("{}: {}", cultivar.name, range(&cultivar.alpha)),
                format!("the cultivar; {}", cultivar.source.text),
                cultivar.source.mark,
            )
        });
        Ok(cultivar.alpha)
    }

    /// Alpha-acids now: those measured, less what storage took since. A storage index is a
    /// measurement and goes before what is known of the storage.
    fn left(&mut self, measured: Fraction) -> Result<Measured<Fraction>, WortError> {
        let (left, source) = if let Some(index) = self.sheet.storage_index {
            let then = self.sheet.storage_index_then.map(|index| index.value);
            let left = hops::alpha_by_index(measured, index.value, then)?;
            let source = "by the hop storage index; Nickerson & Likens, J. Am. Soc. Brew. Chem. 37, 184, 1979 (abstract read)";
            (left, source)
        } else if let Some(age) = self.sheet.age {
            let kept = Kept {
                six_months: self.kept(),
                storage: self.packing(),
                temperature: self.stored_at(),
                time: age.value,
            };
            let source = "what storage leaves; Garetz, Brewing Techniques 2(1), 1994";
            (hops::alpha_after(measured, &kept)?, source)
        } else {
            return Ok(Measured::exactly(measured));
        };
        self.assume("alpha", || {
            let value = format!("{} on brew day", value_and_range(&left));
            (value, source.to_owned(), Mark::Computed)
        });
        Ok(left)
    }

    fn stored_at(&mut self) -> Temperature {
        if let Some(at) = self.sheet.stored_at {
            return at.value;
        }
        self.assume("stored_at", || {
            let (value, source) = ("4 °C".to_owned(), "a refrigerator".to_owned());
            (value, source, Mark::Judgement)
        });
        Temperature::from_c(4.0)
    }

    fn packing(&mut self) -> Storage {
        if let Some(packing) = self.sheet.packing {
            return packing;
        }
        self.assume("packing", || {
            let source = "neither loose nor under inert gas".to_owned();
            ("closed".to_owned(), source, Mark::Judgement)
        });
        Storage::Closed
    }

    /// What the hop keeps over six months at 20 °C.
    fn kept(&mut self) -> Measured<Fraction> {
        if let Some(kept) = self.sheet.kept {
            return kept;
        }
        let cultivar = hops::find(self.hop).ok();
        let found = cultivar.and_then(|hop| hop.kept.map(|kept| (kept, hop.source)));
        let (kept, source, mark) = found.map_or_else(
            || {
                let source =
                    "a cultivar without a figure: the middle of those that have one".to_owned();
                (UNKNOWN_CULTIVAR, source, Mark::Judgement)
            },
            |(kept, source)| (kept, format!("the cultivar; {}", source.text), source.mark),
        );
        self.assume("kept", || {
            let value = format!("{} left after six months at 20 °C", range(&kept));
            (value, source, mark)
        });
        kept
    }
}

/// A range with its middle beside it.
fn value_and_range(left: &Measured<Fraction>) -> String {
    match left.spread {
        Spread::Range { .. } => {
            let value = quantity::show(left.value, quantity::Units::Metric);
            format!("{value} ({})", range(left))
        }
        _ => range(left),
    }
}

/// Median of the middles of the cultivars of the table that have a figure, and the least
/// and the most of them (computed; a test reckons them anew).
const UNKNOWN_CULTIVAR: Measured<Fraction> = Measured {
    value: Fraction::from_ratio(0.625),
    spread: Spread::Range {
        low: 0.45,
        high: 0.825,
    },
};

fn when(entry: &HopEntry) -> HopTime {
    let duration = entry.time.map(|t| t.value).unwrap_or_default();
    match (entry.used, entry.temperature) {
        (HopUse::Mash, _) => HopTime::Mash,
        (HopUse::FirstWort, _) => HopTime::FirstWort,
        (HopUse::Boil, _) => HopTime::Boil(duration),
        (HopUse::Dry, _) => HopTime::DryHop,
        (HopUse::Stand, Some(temperature)) => HopTime::Stand {
            duration,
            temperature: temperature.value,
        },
        // A stand without a temperature is refused by the reader.
        (HopUse::Whirlpool | HopUse::Stand, _) => HopTime::Whirlpool(duration),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_unknown_cultivar_keeps_what_the_middle_one_of_the_table_keeps() {
        let kept = hops::all().iter().filter_map(|hop| hop.kept);
        let mut middles: Vec<f64> = kept.map(|kept| kept.value.ratio()).collect();
        middles.sort_by(f64::total_cmp);
        let half = middles.len() / 2;
        let median = 0.5 * (middles[(middles.len() - 1) / 2] + middles[half]);
        let found = [median, middles[0], middles[middles.len() - 1]];
        let taken = UNKNOWN_CULTIVAR;
        let taken = [taken.value, taken.lower(), taken.upper()].map(Fraction::ratio);
        for (found, taken) in found.iter().zip(taken) {
            assert!((found - taken).abs() < 1e-9, "{found} {taken}");
        }
    }
}
