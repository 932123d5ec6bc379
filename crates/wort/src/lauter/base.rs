//! The pH of the runnings: what buffers in the bed, and the base that the sparge
//! liquor brings.
//!
//! A cell of the bed holds buffering in solution, which is washed out with the
//! extract, and buffering of the grain, which stays. Sparge liquor brings its
//! residual alkalinity, and inorganic carbon that takes its part of it as the pH
//! rises. In each cell
//!
//! T = (S + G)·(pH − pH₀) + C/(1 + 10^(pK − pH))
//!
//! T base above that of the mash \[mEq\], S and G buffering in solution and of the
//! grain \[mEq/pH\], C inorganic carbon \[mmol\], pH₀ the mash. What is in solution
//! leaves with the liquid, what the grain took up stays. Own derivation; no course
//! of a lauter with its pH was found to hold it against (judgement).

use super::figures::FIGURES;

/// What a cell holds beside its liquid.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell {
    pub(super) litres: f64,
    /// Buffering in solution \[mEq/pH\].
    dissolved: f64,
    /// Buffering of the grain \[mEq/pH\].
    grain: f64,
    /// Inorganic carbon of the sparge liquor \[mmol\].
    carbon: f64,
    /// Base above that of the mash, in solution and on the grain \[mEq\].
    base: f64,
    /// pH above that of the mash.
    rise: f64,
}

/// What flows from one cell to the next.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Flow {
    pub(super) litres: f64,
    dissolved: f64,
    carbon: f64,
    pub(super) base: f64,
}

/// A litre of sparge liquor: its residual alkalinity \[mEq/L\] and what of its
/// alkalinity is carbonate \[mmol/L\].
#[derive(Debug, Clone, Copy)]
pub(super) struct Liquor {
    pub(super) residual: f64,
    pub(super) carbonate: f64,
}

impl Liquor {
    pub(super) fn litres(self, litres: f64) -> Flow {
        Flow {
            litres,
            dissolved: 0.0,
            carbon: self.carbonate * litres,
            base: self.residual * litres,
        }
    }
}

impl Cell {
    /// A cell of fresh mash whose malt takes up so much base \[mEq/pH\].
    pub(super) fn of_mash(litres: f64, dissolved: f64, grain: f64) -> Self {
        Self {
            litres,
            dissolved,
            grain,
            carbon: 0.0,
            base: 0.0,
            rise: 0.0,
        }
    }

    pub(super) fn rise(&self) -> f64 {
        self.rise
    }

    /// Base in the cell, in solution and on the grain \[mEq\].
    #[cfg(test)]
    pub(super) fn base(&self) -> f64 {
        self.base
    }

    pub(super) fn takes(&mut self, flow: Flow, mash_ph: f64) {
        self.litres += flow.litres;
        self.dissolved += flow.dissolved;
        self.carbon += flow.carbon;
        self.base += flow.base;
        self.settle(mash_ph);
    }

    /// A share of the liquid leaves.
    pub(super) fn gives(&mut self, share: f64) -> Flow {
        let out = Flow {
            litres: self.litres * share,
            dissolved: self.dissolved * share,
            carbon: self.carbon * share,
            base: (self.base - self.grain * self.rise) * share,
        };
        self.litres -= out.litres;
        self.dissolved -= out.dissolved;
        self.carbon -= out.carbon;
        self.base -= out.base;
        out
    }

    /// The pH at which the books of base close: the left side grows with the pH, so
    /// Newton's steps from the last pH find it.
    fn settle(&mut self, mash_ph: f64) {
        let buffering = (self.dissolved + self.grain).max(1e-9);
        let pk = FIGURES.carbonic_acid_pk.value;
        let share = |rise: f64| 1.0 / (1.0 + 10f64.powf(pk - mash_ph - rise));
        // Where carbon takes nothing, and where it takes all it can.
        let high = (self.base / buffering).clamp(-2.0, 5.0);
        let low = ((self.base - self.carbon) / buffering).clamp(-2.0, 5.0);
        let mut rise = self.rise.clamp(low, high);
        for _ in 0..30 {
            let s = share(rise);
            let gap = buffering * rise + self.carbon * s - self.base;
            let slope = buffering + self.carbon * std::f64::consts::LN_10 * s * (1.0 - s);
            let next = (rise - gap / slope).clamp(low, high);
            if (next - rise).abs() < 1e-10 {
                break;
            }
            rise = next;
        }
        self.rise = rise;
    }
}
