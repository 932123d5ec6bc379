//! What the readings of a mash say of the heat that its tun loses.

use quantity::{Duration, Measured, Temperature, TemperatureDifference};

use super::course::{MashCourse, TemperatureReading};
use super::figures::FIGURES;

/// The loss of a tun, by readings.
#[derive(Debug, Clone, PartialEq)]
pub struct TunLoss {
    /// Fall in an hour at the temperatures that were read.
    pub in_an_hour: Measured<TemperatureDifference>,
    /// Time constant; none where no fall is seen beyond what the thermometer leaves open.
    pub time_constant: Option<Measured<Duration>>,
    /// Pairs of readings that it rests on.
    pub pairs: usize,
}

/// The loss of a tun from readings that follow each other within one rest.
///
/// Newton's law: k = ln((T₁ − T_room)/(T₂ − T_room))/(t₂ − t₁), each pair weighted by its
/// spread, √2 times that of the thermometer over (T − T_room)(t₂ − t₁). A pair that rises,
/// or falls as no tun does, is left out: something was poured in.
pub(crate) fn tun_loss(
    planned: &MashCourse,
    readings: &[TemperatureReading],
    room: Temperature,
) -> Option<TunLoss> {
    let mut read: Vec<(f64, f64)> = readings
        .iter()
        .map(|r| (r.after.min(), r.temperature.c() - room.c()))
        .collect();
    read.sort_by(|a, b| a.0.total_cmp(&b.0));
    let figures = &*FIGURES;
    let (mut weights, mut weighed, mut above, mut pairs) = (0.0, 0.0, 0.0, 0);
    for pair in read.windows(2) {
        let [(from_min, from_k), (to_min, to_k)] = pair else {
            continue;
        };
        let min = to_min - from_min;
        let one_rest = *to_min <= planned.rest_around(*from_min).1 + 1e-9;
        let falls = (from_k - to_k) / min * 60.0;
        let rises = to_k - from_k > 3.0 * figures.thermometer_repeats.value;
        if min < figures.loss_reads_apart.value
            || !one_rest
            || to_k.min(*from_k) < 5.0
            || rises
            || falls > figures.fastest_loss.value
        {
            continue;
        }
        let middle_k = f64::midpoint(*from_k, *to_k);
        let sd = figures.thermometer_repeats.value * std::f64::consts::SQRT_2 / (middle_k * min);
        let weight = 1.0 / (sd * sd);
        weights += weight;
        weighed += weight * (from_k / to_k).ln() / min;
        above += weight * middle_k;
        pairs += 1;
    }
    if pairs == 0 {
        return None;
    }
    let (rate, sd) = (weighed / weights, weights.sqrt().recip());
    let per_h = 60.0 * above / weights;
    Some(TunLoss {
        in_an_hour: Measured::with_sd(TemperatureDifference::from_k(rate * per_h), sd * per_h),
        time_constant: (rate > 2.0 * sd).then(|| {
            let h = Duration::from_min(rate.recip());
            Measured::with_sd(h, h.h() * sd / rate)
        }),
        pairs,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn loss(readings: &[(f64, f64)]) -> Option<TunLoss> {
        let planned = MashCourse::level(&[(66.0, 60.0), (75.0, 20.0)]);
        let readings: Vec<TemperatureReading> = readings
            .iter()
            .map(|(min, c)| TemperatureReading {
                after: Duration::from_min(*min),
                temperature: Temperature::from_c(*c),
            })
            .collect();
        tun_loss(&planned, &readings, Temperature::from_c(20.0))
    }

    /// Newton's law of cooling, worked: 46 K above the room, 20 h.
    #[test]
    fn the_law_gives_its_time_constant_back() {
        let at = |min: f64| (min, 20.0 + 46.0 * (-min / 1200.0f64).exp());
        let found = loss(&[at(0.0), at(20.0), at(55.0)]).unwrap();
        let tau = found.time_constant.unwrap();
        assert!((tau.value.h() - 20.0).abs() < 1e-9, "{tau:?}");
        assert!((found.in_an_hour.value.k() - 2.25).abs() < 0.02);
        assert_eq!(found.pairs, 2);
        assert!(tau.sd() > 0.5 && tau.sd() < 4.0, "{tau:?}");
    }

    #[test]
    fn what_says_nothing_of_the_tun_is_left_out() {
        assert_eq!(loss(&[(5.0, 66.0)]), None);
        assert_eq!(loss(&[(5.0, 66.0), (8.0, 65.9)]), None, "too near");
        assert_eq!(loss(&[(5.0, 66.0), (25.0, 68.0)]), None, "warmed");
        assert_eq!(loss(&[(5.0, 70.0), (16.0, 63.0)]), None, "cold water");
        assert_eq!(loss(&[(50.0, 66.0), (70.0, 75.0)]), None, "another rest");
        let still = loss(&[(5.0, 66.0), (25.0, 66.0)]).unwrap();
        assert_eq!(still.time_constant, None);
        assert!(still.in_an_hour.value.k().abs() < 1e-9);
    }
}
