use super::*;

fn known(region: Region) -> Known {
    Known::in_region(region)
}

fn mg(text: &str) -> Option<Measured<Chlorine>> {
    Some(text.parse().unwrap())
}

#[test]
fn the_word_monochloramine_settles_it() {
    for region in [Region::Europe, Region::UnitedStates, Region::Elsewhere] {
        let judged = judge(&Known {
            words: "Disinfection: MONOCHLORAMINE".to_owned(),
            total: mg("1.8 mg/L"),
            ..known(region)
        })
        .unwrap();
        assert_eq!(judged.practice, Practice::Chloramine);
        assert!(judged.grade >= Grade::Likely, "{judged:?}");
        assert!(judged.combined.lower().mg_per_l() > 1.4);
        assert!(judged.free.upper().mg_per_l() < 0.4);
    }
}

#[test]
fn a_denial_is_not_taken_for_the_word() {
    let judged = judge(&Known {
        words: "We do not use chloramine; free chlorine only.".to_owned(),
        ..known(Region::UnitedStates)
    })
    .unwrap();
    assert_eq!(judged.practice, Practice::FreeChlorine);
    assert_eq!(judged.grade, Grade::Shown);
}

#[test]
fn an_unnamed_figure_stays_open_in_the_us_and_leans_in_europe() {
    let of = |region| {
        judge(&Known {
            unnamed: mg("0.4 mg/L"),
            ..known(region)
        })
        .unwrap()
    };
    let us = of(Region::UnitedStates);
    assert_eq!(us.grade, Grade::Open);
    assert!(us.total.upper().mg_per_l() >= 4.0 && us.free.upper().mg_per_l() >= 0.4);
    assert!(us.ask.iter().any(|q| q.contains("free or total")));
    assert!(!us.settle.is_empty());
    let europe = of(Region::Europe);
    assert_eq!(europe.practice, Practice::FreeChlorine);
    assert!(europe.grade >= Grade::Likely);
    let top = europe.total.upper().mg_per_l();
    assert!(top > 0.4 && top < 0.7, "{top}");
}

#[test]
fn free_and_total_settle_it_by_themselves() {
    let of = |total: &str, free: &str| {
        judge(&Known {
            total: mg(total),
            free: mg(free),
            ..known(Region::Elsewhere)
        })
        .unwrap()
    };
    let chloramine = of("1.8 ± 0.05 mg/L", "0.1 ± 0.05 mg/L");
    assert_eq!(chloramine.practice, Practice::Chloramine);
    assert!((chloramine.combined.value.mg_per_l() - 1.7).abs() < 1e-12);
    assert!((chloramine.combined.sd() - 0.05f64.hypot(0.05)).abs() < 1e-12);
    let free = of("0.52 ± 0.03 mg/L", "0.50 ± 0.03 mg/L");
    assert_eq!(free.practice, Practice::FreeChlorine);
    assert!(free.notes.iter().any(|n| n.text.contains("not shown")));
    // Not nothing: the spread of the difference is carried on.
    assert!(free.combined.upper().mg_per_l() > 0.08);
}

#[test]
fn only_free_chlorine_leaves_the_total_wide_where_chloramine_may_be() {
    let judged = judge(&Known {
        free: mg("0.2 mg/L"),
        words: "chloramines".to_owned(),
        ..known(Region::UnitedStates)
    })
    .unwrap();
    assert!(judged.total.upper().mg_per_l() >= 4.0);
    assert!(
        judged
            .notes
            .iter()
            .any(|n| n.text.contains("Measure total"))
    );
}

#[test]
fn nothing_known_gives_the_usual_range_and_every_question() {
    let judged = judge(&known(Region::UnitedStates)).unwrap();
    assert_eq!(judged.grade, Grade::Open);
    assert!(judged.total.upper().mg_per_l() >= 4.0);
    assert!(judged.ask.len() >= 2);
}

#[test]
fn ammonia_and_smell_move_the_odds_the_right_way() {
    let p = |ammonium: Option<f64>, smell| {
        let known = Known {
            ammonium: ammonium.map(Ammonium::from_mg_per_l),
            smell,
            total: mg("1 mg/L"),
            ..known(Region::Elsewhere)
        };
        judge(&known).unwrap().chloramine.ratio()
    };
    assert!(p(Some(0.4), None) > p(None, None));
    assert!(p(Some(0.0), None) < p(None, None));
    assert!(p(None, Some(Smell::SwimmingPool)) > p(None, None));
    assert!(p(None, Some(Smell::Bleach)) < p(None, None));
}

#[test]
fn free_above_total_is_refused_and_noise_is_not() {
    let of = |free: &str| {
        judge(&Known {
            total: mg("0.5 ± 0.05 mg/L"),
            free: mg(free),
            ..known(Region::Europe)
        })
    };
    assert!(of("0.9 mg/L").is_err());
    let noisy = of("0.55 ± 0.05 mg/L").unwrap();
    assert!(noisy.free.value <= noisy.total.value);
}

/// Whatever was known, the judged water is one that the stage takes.
#[test]
fn every_judgement_makes_a_water() {
    let some = [
        None,
        mg("0 mg/L"),
        mg("0.4 mg/L"),
        mg("1-3 mg/L"),
        mg("5 ± 2 mg/L"),
    ];
    for region in [Region::Europe, Region::UnitedStates, Region::Elsewhere] {
        for total in &some {
            for free in &some {
                for unnamed in &some {
                    let known = Known {
                        total: *total,
                        free: *free,
                        unnamed: *unnamed,
                        ..known(region)
                    };
                    let Ok(judged) = judge(&known) else {
                        assert!(free.is_some() && total.is_some());
                        continue;
                    };
                    let water = judged.water("tap", Alkalinity::default());
                    check::source(&water).unwrap();
                    let parts = judged.free.value.mg_per_l() + judged.combined.value.mg_per_l();
                    assert!(
                        (parts - judged.total.value.mg_per_l()).abs() < 1e-9,
                        "{judged:?}"
                    );
                }
            }
        }
    }
}
