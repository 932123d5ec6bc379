//! Cutting lines and areas to the unit square, before they become places.

type P = (f64, f64);

/// The parts of a line inside the unit square. A gap in the places is a gap in the line.
///
/// A place without neighbours stands alone, so that it can be drawn as a dot.
pub(crate) fn line_inside(places: &[Option<P>]) -> Vec<Vec<P>> {
    let mut parts: Vec<Vec<P>> = Vec::new();
    let mut open = false;
    let mut before: Option<P> = None;
    for &place in places {
        match (before, place) {
            (Some(a), Some(b)) => open = add_segment(&mut parts, open, a, b),
            (None, Some(b)) if inside(b) => {
                parts.push(vec![b]);
                open = true;
            }
            _ => open = false,
        }
        before = place;
    }
    parts
}

/// Adds what is inside of a segment; says whether the part may go on from its end.
fn add_segment(parts: &mut Vec<Vec<P>>, open: bool, a: P, b: P) -> bool {
    let Some((from, to)) = segment_inside(a, b) else {
        return false;
    };
    match parts.last_mut() {
        Some(part) if open && inside(a) => part.push(to),
        _ => parts.push(vec![from, to]),
    }
    inside(b)
}

fn inside((u, v): P) -> bool {
    (0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v)
}

/// The part of a segment inside the unit square (Liang and Barsky 1984).
fn segment_inside(a: P, b: P) -> Option<(P, P)> {
    let (du, dv) = (b.0 - a.0, b.1 - a.1);
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for (step, room) in [(-du, a.0), (du, 1.0 - a.0), (-dv, a.1), (dv, 1.0 - a.1)] {
        if step.abs() < f64::MIN_POSITIVE {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            enter = enter.max(room / step);
        } else {
            leave = leave.min(room / step);
        }
    }
    let on = |t: f64| {
        (
            (a.0 + t * du).clamp(0.0, 1.0),
            (a.1 + t * dv).clamp(0.0, 1.0),
        )
    };
    (enter <= leave).then(|| (on(enter), on(leave)))
}

/// The part of an area inside the unit square (Sutherland and Hodgman 1974).
pub(crate) fn area_inside(corners: &[P]) -> Vec<P> {
    let mut area = corners.to_vec();
    area = cut(&area, |p| p.0);
    area = cut(&area, |p| 1.0 - p.0);
    area = cut(&area, |p| p.1);
    area = cut(&area, |p| 1.0 - p.1);
    area.iter()
        .map(|(u, v)| (u.clamp(0.0, 1.0), v.clamp(0.0, 1.0)))
        .collect()
}

/// Keeps the side of an area where the room is not negative.
fn cut(area: &[P], room: impl Fn(P) -> f64) -> Vec<P> {
    let mut kept = Vec::with_capacity(area.len() + 4);
    let Some(&last) = area.last() else {
        return kept;
    };
    let mut before = last;
    for &corner in area {
        let (r0, r1) = (room(before), room(corner));
        if (r0 < 0.0) != (r1 < 0.0) {
            let t = r0 / (r0 - r1);
            kept.push((
                before.0 + t * (corner.0 - before.0),
                before.1 + t * (corner.1 - before.1),
            ));
        }
        if r1 >= 0.0 {
            kept.push(corner);
        }
        before = corner;
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_line_that_leaves_and_returns_is_two_parts() {
        let places = [(0.2, 0.5), (0.4, 1.5), (0.6, 0.5)].map(Some);
        let parts = line_inside(&places);
        assert_eq!(parts.len(), 2);
        assert!((parts[0][1].0 - 0.3).abs() < 1e-12 && (parts[0][1].1 - 1.0).abs() < 1e-12);
        assert!((parts[1][0].0 - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_gap_parts_a_line_and_a_lone_place_stays() {
        let parts = line_inside(&[Some((0.1, 0.1)), None, Some((0.5, 0.5)), Some((0.6, 0.6))]);
        assert_eq!(parts, [vec![(0.1, 0.1)], vec![(0.5, 0.5), (0.6, 0.6)]]);
    }

    #[test]
    fn an_area_around_the_square_becomes_the_square() {
        let area = area_inside(&[(-1.0, -1.0), (2.0, -1.0), (2.0, 2.0), (-1.0, 2.0)]);
        let twice: f64 = area
            .iter()
            .zip(area.iter().cycle().skip(1))
            .map(|(a, b)| a.0 * b.1 - b.0 * a.1)
            .sum();
        assert!((twice - 2.0).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn nothing_leaves_the_square(
            places in prop::collection::vec((-1e3..1e3_f64, -1e3..1e3_f64), 0..20),
        ) {
            let line: Vec<_> = places.iter().copied().map(Some).collect();
            prop_assert!(line_inside(&line).iter().flatten().all(|&p| inside(p)));
            prop_assert!(area_inside(&places).iter().all(|&p| inside(p)));
        }
    }
}
