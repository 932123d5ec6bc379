//! Models of the literature, as published. They hold for what they were fitted
//! to; the course of a batch is reckoned with the model beside them.

mod andres_toro;
mod gee_ramirez;
mod sigmoid;

pub use andres_toro::{AndresToro1998, EsterForm};
pub use gee_ramirez::GeeRamirez;
pub use sigmoid::{FiveParameters, LogisticFit};

pub(crate) use andres_toro::Lager;
