//! The rate equations.

use num_dual::DualNum;

use super::constants::constants;

/// A number that may carry a derivative: the equations are written once and give
/// rates with `f64` and Jacobian products with dual numbers.
pub(super) trait Real: DualNum<Primitive = f64> + Copy {}
impl<T: DualNum<Primitive = f64> + Copy> Real for T {}

/// Free ammonia, free chlorine, NH₂Cl, NHCl₂, NCl₃, the intermediate, N₂ and
/// NO₃⁻ \[mol/L\]. The last two drive nothing; they close the balances.
pub(super) const STATES: usize = 8;

/// The equations of one water, whose pH is held.
#[derive(Debug, Clone, Copy)]
pub(super) struct Model {
    /// Share of free ammonia that is NH₃.
    ammonia_share: f64,
    /// Share of free chlorine that is HOCl.
    acid_share: f64,
    /// k1 to k14; k11 without the part that OCl⁻ helps.
    k: [f64; 14],
    k11_by_hypochlorite: f64,
}

impl Model {
    /// `alkalinity_eq_per_l` gives the carbonates, which help reactions 5 and 11.
    pub(super) fn new(ph: f64, temp_k: f64, alkalinity_eq_per_l: f64) -> Self {
        let c = constants();
        let k = |key| c.rate(key, temp_k);
        let h = 10f64.powf(-ph);
        let oh = c.equilibrium("H2O", temp_k) / h;
        let [acid, bicarbonate, carbonate] = carbonates(h, oh, temp_k, alkalinity_eq_per_l);
        let k5 = k("5 H+") * h + k("5 HCO3-") * bicarbonate + k("5 H2CO3") * acid;
        let k11 = k("11 OH-") * oh + k("11 CO3--") * carbonate;
        Self {
            ammonia_share: 1.0 / (1.0 + h / c.equilibrium("NH4+", temp_k)),
            acid_share: 1.0 / (1.0 + c.equilibrium("HOCl", temp_k) / h),
            k: [
                k("1"),
                k("2"),
                k("3"),
                k("4"),
                k5,
                k("6") * h,
                k("7") * oh,
                k("8"),
                k("9"),
                k("10"),
                k11,
                k("12") * oh,
                k("13") * oh,
                k("14"),
            ],
            k11_by_hypochlorite: k("11 OCl-"),
        }
    }

    /// The rates of change \[mol/(L s)\].
    pub(super) fn rates<D: Real>(&self, x: &[D; STATES]) -> [D; STATES] {
        let [ammonia, chlorine, mono, di, tri, inter, _, _] = *x;
        let nh3 = ammonia * self.ammonia_share;
        let hocl = chlorine * self.acid_share;
        let ocl = chlorine * (1.0 - self.acid_share);
        let k = &self.k;
        let r1 = hocl * nh3 * k[0];
        let r2 = mono * k[1];
        let r3 = hocl * mono * k[2];
        let r4 = di * k[3];
        let r5 = mono * mono * k[4];
        let r6 = di * nh3 * k[5];
        let r7 = di * k[6];
        let r8 = inter * di * k[7];
        let r9 = inter * mono * k[8];
        let r10 = mono * di * k[9];
        let r11 = hocl * di * (ocl * self.k11_by_hypochlorite + k[10]);
        let r12 = di * tri * k[11];
        let r13 = mono * tri * k[12];
        let r14 = di * ocl * k[13];
        [
            -r1 + r2 + r5 - r6,
            -r1 + r2 - r3 + r4 + r8 - r11 + r12 * 2.0 + r13 - r14 * 2.0,
            r1 - r2 - r3 + r4 - r5 * 2.0 + r6 * 2.0 - r9 - r10 - r13,
            r3 - r4 + r5 - r6 - r7 - r8 - r10 - r11 - r12 - r14,
            r11 - r12 - r13,
            r7 - r8 - r9,
            r8 + r9 + r10 + r12 + r13,
            r14,
        ]
    }
}

/// Carbon dioxide, bicarbonate and carbonate \[mol/L\] at a pH and an alkalinity;
/// none where the alkalinity is too low for the pH.
fn carbonates(h: f64, oh: f64, temp_k: f64, alkalinity_eq_per_l: f64) -> [f64; 3] {
    let c = constants();
    let (k1, k2) = (
        c.equilibrium("H2CO3", temp_k),
        c.equilibrium("HCO3-", temp_k),
    );
    let whole = h * h + k1 * h + k1 * k2;
    let [a0, a1, a2] = [h * h, k1 * h, k1 * k2].map(|part| part / whole);
    let total = ((alkalinity_eq_per_l + h - oh) / (a1 + 2.0 * a2)).max(0.0);
    [total * a0, total * a1, total * a2]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Nitrogen atoms and pairs of electrons (chlorine as Cl₂) in each state. The
    /// intermediate as HNO and the products as N₂ and NO₃⁻ are textbook redox
    /// chemistry, and the printed reactions close with them exactly.
    const NITROGEN: [f64; STATES] = [1.0, 0.0, 1.0, 1.0, 1.0, 1.0, 2.0, 1.0];
    const OXIDANT: [f64; STATES] = [0.0, 1.0, 1.0, 2.0, 3.0, 2.0, 3.0, 4.0];

    #[test]
    fn every_reaction_keeps_nitrogen_and_oxidant() {
        let model = Model::new(7.3, 291.0, 1.7e-3);
        let x = [3e-5, 2e-5, 5e-5, 7e-6, 4e-7, 1e-8, 0.0, 0.0];
        let rates = model.rates(&x);
        let size: f64 = rates.iter().map(|r: &f64| f64::abs(*r)).sum();
        for weights in [NITROGEN, OXIDANT] {
            let sum: f64 = rates.iter().zip(weights).map(|(r, w)| r * w).sum();
            assert!(sum.abs() < 1e-14 * size, "{sum} of {size}");
        }
    }
}
