use super::*;

fn around() -> Conditions {
    Conditions {
        ph: Ph::from_ph(7.5),
        temperature: Temperature::from_c(20.0),
        alkalinity: Alkalinity::from_meq_per_l(2.0),
    }
}

/// What is cut off below zero is less than any tolerance of a test of water.
#[test]
fn the_solver_stays_above_zero_within_its_tolerance() {
    for dose in [1.0, 5.0, 8.0, 12.0] {
        let free_ammonia = Ammonium::from_mg_per_l(1.28);
        let start = moles(&Start::of_dose(Chlorine::from_mg_per_l(dose), free_ammonia)).unwrap();
        let times: Vec<f64> = (0..100).map(|i| 1.2f64.powi(i)).collect();
        let states = solve::solve(&model_of(&around()).unwrap(), start, &times).unwrap();
        let least = states.iter().flatten().fold(0.0, |a: f64, b| a.min(*b));
        assert!(least > -1e-12, "{dose}: {least}");
    }
}

#[test]
fn bad_figures_are_told() {
    let start = Start::of_monochloramine(Chlorine::from_mg_per_l(3.0));
    let day = [Duration::from_h(24.0)];
    let mut hot = around();
    hot.temperature = Temperature::from_c(80.0);
    let message = course(&start, &hot, &day).unwrap_err().to_string();
    assert_eq!(
        message,
        "temperature is 80 °C; between 0 and 50 °C is possible"
    );
    let much = Start::of_monochloramine(Chlorine::from_mg_per_l(f64::NAN));
    assert!(course(&much, &around(), &day).is_err());
    let back = [Duration::from_h(2.0), Duration::from_h(1.0)];
    let message = course(&start, &around(), &back).unwrap_err().to_string();
    assert!(message.starts_with("time 2 is before"), "{message}");
}

#[test]
fn outside_its_range_the_course_says_so() {
    let start = Start::of_monochloramine(Chlorine::from_mg_per_l(3.0));
    let day = [Duration::from_h(24.0)];
    assert!(course(&start, &around(), &day).unwrap().notes.is_empty());
    let cold = Conditions {
        temperature: Temperature::from_c(2.0),
        ph: Ph::from_ph(9.4),
        ..around()
    };
    assert_eq!(course(&start, &cold, &day).unwrap().notes.len(), 2);
}

#[test]
fn the_time_to_a_level_lies_on_the_course() {
    let start = Start::of_monochloramine(Chlorine::from_mg_per_l(3.0));
    let times: Vec<Duration> = (0..=168).map(|h| Duration::from_h(f64::from(h))).collect();
    let week = course(&start, &around(), &times).unwrap();
    let half = week.reaches(Chlorine::from_mg_per_l(1.5)).unwrap();
    let again = course(&start, &around(), &[half]).unwrap();
    assert!((again.moments[0].total().mg_per_l() - 1.5).abs() < 1e-3);
    assert_eq!(week.reaches(Chlorine::from_mg_per_l(0.1)), None);
    assert_eq!(
        week.reaches(Chlorine::from_mg_per_l(4.0)),
        Some(Duration::from_h(0.0))
    );
}
