//! The dimensions of made parts, in the builder's words.

use crate::answers::Inside;
use machine::Place;
use mechanics::model::ParamId;

/// A dimension of a made part: the number tolerance, sensitivity, drawings and dial-in speak of.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// "lever: centre distance lever-pivot to lever-pin", "rod front: length".
    pub name: String,
    /// The part, rod, slide, slot, rack or face: "lever", "rod front".
    pub of: String,
    /// Its parameter.
    pub param: ParamId,
    /// The dimension is this times its parameter: −1 for a pitch radius that is kept with a sign, else 1.
    pub sign: f64,
    /// Unit.
    pub inside: Inside,
    /// Where the thing stands in the file.
    pub place: Place,
}
