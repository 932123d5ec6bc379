//! Beer in a glass.

use quantity::{Fraction, Measured, Note, show, show_interval};
use wort::colour::glass_light;

use super::Measurement;
use super::reading::{Readings, exact, line};

pub(super) fn glass(r: &mut Readings<'_>) -> Option<Measurement> {
    let (colour, depth) = (r.measured("colour"), r.value("depth"));
    let (colour, depth): (Measured<quantity::Colour>, quantity::Length) = (colour?, depth?);
    let light = |colour| glass_light(colour, depth);
    let through = r.told(light(colour.value), |_| "colour")?;
    let units = r.units;
    let mut seen = exact("light", "light that comes through", through, units).main();
    seen.colour = batch::boil::glass_hex(colour.value, depth);
    if colour.sd() > 0.0 {
        let ends = [colour.upper(), colour.lower()].map(|c| light(c).unwrap_or(through));
        let [least, most]: [Fraction; 2] = ends;
        seen.text = format!(
            "{} ({})",
            show(through, units),
            show_interval(least, most, units)
        );
    }
    Some(Measurement {
        lines: vec![
            seen,
            line("colour", "colour", &colour, units),
            exact("depth", "depth", depth, units),
        ],
        notes: vec![Note::fine(
            "drawn by the mean spectrum of 99 beers (deLange 2016, as quoted) on a white ground; hazy beers and beers with fruit look otherwise",
        )],
        cautions: Vec::new(),
    })
}
