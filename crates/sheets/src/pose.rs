//! What a drawing is asked for.

use studies::Standing;

use crate::scale::Scale;

/// A pose to be drawn: where everything stands, and the values that made it stand so.
#[derive(Clone, Copy, Debug)]
pub struct Pose<'a> {
    /// Where everything stands.
    pub standing: &'a Standing,
    /// Value of each drive of the machine (mm or rad). Drives beyond the end stand as drawn.
    pub drives: &'a [f64],
    /// Value of each setting of the machine. Settings beyond the end stand as drawn.
    pub settings: &'a [f64],
}

/// How views are laid out beside the front view.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Projection {
    /// What is seen from the right stands at the right.
    #[default]
    ThirdAngle,
    /// What is seen from the right stands at the left.
    FirstAngle,
}

/// Which names are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Names {
    /// All.
    #[default]
    All,
    /// Those of parts, rods and drives.
    Parts,
    /// None.
    None,
}

/// A paper size, mm; it may be used upright or lying.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paper {
    /// Shorter side.
    pub short: f64,
    /// Longer side.
    pub long: f64,
}

impl Paper {
    /// ISO 216 A4.
    pub const A4: Self = Self {
        short: 210.0,
        long: 297.0,
    };
    /// ISO 216 A3.
    pub const A3: Self = Self {
        short: 297.0,
        long: 420.0,
    };
    /// ANSI/ASME Y14.1 size A (letter).
    pub const LETTER: Self = Self {
        short: 215.9,
        long: 279.4,
    };
    /// ANSI/ASME Y14.1 size B.
    pub const TABLOID: Self = Self {
        short: 279.4,
        long: 431.8,
    };

    /// Whether something of this width and height fits, upright or lying.
    pub(crate) fn fits(self, width: f64, height: f64) -> bool {
        width.min(height) <= self.short + 1e-6 && width.max(height) <= self.long + 1e-6
    }
}

/// How to draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Layout of views.
    pub projection: Projection,
    /// The drawing is scaled to fit this paper; the sheet itself is no larger than it needs to be.
    pub paper: Paper,
    /// Scale to use whatever the size of the sheet; otherwise the largest round one that fits.
    pub scale: Option<Scale>,
    /// Which names are written.
    pub names: Names,
    /// The one plane to draw; otherwise every plane in which something lies.
    pub plane: Option<usize>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            projection: Projection::default(),
            paper: Paper::A4,
            scale: None,
            names: Names::default(),
            plane: None,
        }
    }
}
