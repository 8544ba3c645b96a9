//! What each case asks, put to the elements.

use super::{Answer, Given, named};
use elements::ElementError;

mod bearings;
mod fits;
mod parts;
mod shop;
mod springs;
mod threads;

pub(crate) const INCH: f64 = 25.4;
pub(crate) const POUND: f64 = 4.448_221_615_260_5;
pub(crate) const POUND_INCH: f64 = POUND * INCH;
pub(crate) const KPSI: f64 = 6.894_757_293;

type Answered = Result<Answer, ElementError>;

pub(crate) fn answer(ask: &str, given: &Given) -> Answered {
    [
        fits::answer,
        bearings::answer,
        threads::answer,
        springs::answer,
        parts::answer,
        shop::answer,
    ]
    .iter()
    .find_map(|part| part(ask, given))
    .unwrap_or_else(|| panic!("nothing answers {ask}"))
}

fn one(value: Result<f64, ElementError>) -> Answered {
    value.map(Answer::One)
}
