//! Random waters and what is done to them.

use proptest::prelude::*;
use water::acids;
use water::dechlorination::Reagent;
use water::salts;

use super::{Frame, line, some_line};

/// A source of water.
#[derive(Debug, Clone)]
pub struct Source {
    /// Share \[%\].
    pub share: u32,
    /// Total chlorine \[mg/L as Cl₂\].
    pub total_chlorine: f64,
    /// Its standard deviation \[mg/L as Cl₂\].
    pub chlorine_sd: f64,
    /// Free chlorine \[mg/L as Cl₂\], where it is known.
    pub free_chlorine: Option<f64>,
    ions: String,
}

impl Source {
    pub fn text(&self, shared: bool) -> String {
        let mut table = "[[water.source]]\nname = \"any water\"\n".to_owned();
        if shared {
            line(&mut table, "share", format!("{} %", self.share));
        }
        table.push_str(&self.ions);
        let (total, sd) = (self.total_chlorine, self.chlorine_sd);
        if sd > 0.0 {
            line(
                &mut table,
                "total_chlorine",
                format!("{total:.3} ± {sd:.3} mg/L"),
            );
        } else {
            line(&mut table, "total_chlorine", format!("{total:.3} mg/L"));
        }
        let free = self.free_chlorine.map(|f| format!("{f:.3} mg/L"));
        some_line(&mut table, "free_chlorine", free);
        table
    }
}

/// One to three sources whose shares make a whole.
pub fn sources() -> impl Strategy<Value = Vec<Source>> {
    (prop::collection::vec(source(), 1..4), 20..50u32, 20..50u32).prop_map(|(mut all, a, b)| {
        let mut left = 100;
        let last = all.len() - 1;
        for (i, source) in all.iter_mut().enumerate() {
            source.share = if i == last { left } else { [a, b][i] };
            left -= source.share.min(left);
        }
        all
    })
}

fn source() -> impl Strategy<Value = Source> {
    let chlorine = (
        prop_oneof![1 => Just(0.0), 3 => 0.05..3.0f64],
        prop_oneof![Just(0.0), 0.02..0.3f64],
        prop::option::of(0.0..1.0f64),
    );
    (ions(), chlorine).prop_map(|(ions, (total_chlorine, sd, free))| Source {
        share: 100,
        total_chlorine,
        chlorine_sd: if total_chlorine > 0.0 {
            sd * total_chlorine
        } else {
            0.0
        },
        // Rounded down, so that free is never above total as it is printed.
        free_chlorine: free.map(|f| (f * total_chlorine * 1000.0).floor() / 1000.0),
        ions,
    })
}

fn ions() -> impl Strategy<Value = String> {
    let main = (
        0.0..160.0f64,
        0.0..30.0f64,
        0.0..300.0f64,
        0.0..100.0f64,
        0.0..150.0f64,
    );
    let others = (
        prop::option::of(0.0..60.0f64),
        prop::option::of(0.0..10.0f64),
        prop::option::of(0.0..45.0f64),
        prop::option::of(0.0..0.3f64),
        prop::option::of(0.0..0.3f64),
        prop::option::of(6.5..8.5f64),
    );
    (main, others).prop_map(|((ca, mg, alk, cl, so4), (na, k, no3, no2, fe, ph))| {
        let mut t = String::new();
        let mg_per_l = |x: f64| format!("{x:.2} mg/L");
        line(&mut t, "calcium", mg_per_l(ca));
        line(&mut t, "magnesium", mg_per_l(mg));
        line(&mut t, "alkalinity", format!("{alk:.1} mg/L as CaCO3"));
        line(&mut t, "chloride", mg_per_l(cl));
        line(&mut t, "sulfate", mg_per_l(so4));
        some_line(&mut t, "sodium", na.map(mg_per_l));
        some_line(&mut t, "potassium", k.map(mg_per_l));
        some_line(&mut t, "nitrate", no3.map(mg_per_l));
        some_line(&mut t, "nitrite", no2.map(mg_per_l));
        some_line(&mut t, "iron", fe.map(mg_per_l));
        some_line(&mut t, "ph", ph.map(|x| format!("{x:.1}")));
        t
    })
}

/// What is done about chlorine: nothing, standing, boiling, or a reagent that is
/// matched, weighed, or counted in tablets.
pub fn treatment(litres: f64) -> impl Strategy<Value = String> {
    let none = prop_oneof![
        Just(String::new()),
        Just("[water.treatment]\nway = \"none\"\n".to_owned()),
    ];
    let wait = (prop::bool::ANY, 1.0..48.0f64).prop_map(|(stand, h)| {
        let (way, time) = if stand {
            ("stand", format!("{h:.0} h"))
        } else {
            ("boil", format!("{h:.0} min"))
        };
        format!("[water.treatment]\nway = \"{way}\"\ntime = \"{time}\"\n")
    });
    let dose = prop_oneof![
        3 => Just(String::new()),
        1 => (0.001..0.04f64)
            .prop_map(move |g_per_l| format!("dose = \"{:.4} g\"\n", g_per_l * litres)),
        1 => (1..5u32)
            .prop_map(|halves| format!("tablets = \"{}\"\ntablet_mass = \"0.44 g\"\n", f64::from(halves) / 2.0)),
    ];
    let reagent = (0..Reagent::ALL.len(), 50.0..100.0f64, 0.0..100.0f64, dose).prop_map(
        |(which, purity, excess, dose)| {
            let reagent = Reagent::ALL[which];
            format!(
                "[water.treatment]\nway = \"reagent\"\nreagent = \"{reagent}\"\npurity = \"{purity:.0} %\"\nexcess = \"{excess:.0} %\"\n{dose}"
            )
        },
    );
    prop_oneof![1 => none, 1 => wait, 3 => reagent]
}

/// Up to three salts and two acids.
pub fn additions(frame: Frame) -> impl Strategy<Value = String> {
    let (litres, sparged) = (frame.litres, frame.sparged);
    let salt = (0..salts::salts().len(), 0.005..0.3f64, any::<bool>());
    let acid = (0..acids::products().len(), 0.002..0.15f64, any::<bool>());
    let salts = prop::collection::vec(salt, 0..4);
    let acids = prop::collection::vec(acid, 0..3);
    (salts, acids).prop_map(move |(salts, acids)| {
        let into = |sparge: bool| if sparge && sparged { "sparge" } else { "mash" };
        let mut t = String::new();
        for (which, g_per_l, sparge) in salts {
            t.push_str("[[water.salt]]\n");
            line(&mut t, "salt", &salts::salts()[which].name);
            line(&mut t, "amount", format!("{:.3} g", g_per_l * litres));
            line(&mut t, "into", into(sparge));
        }
        for (which, g_per_l, sparge) in acids {
            let product = &acids::products()[which];
            t.push_str("[[water.acid]]\n");
            line(&mut t, "acid", &product.name);
            if product.density_g_per_ml.is_some() {
                line(&mut t, "volume", format!("{:.3} mL", g_per_l * litres));
            } else {
                line(&mut t, "mass", format!("{:.3} g", g_per_l * litres));
            }
            line(&mut t, "into", into(sparge));
        }
        t
    })
}
