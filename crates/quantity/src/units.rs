//! The one table of kinds and units. Reading, printing, error texts, docs and tests all come from it.

use std::f64::consts::PI;
use std::fmt;

/// What a number measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Inside unit mm.
    Length,
    /// Inside unit rad.
    Angle,
    /// Inside unit N.
    Force,
    /// Inside unit N·mm.
    Moment,
    /// Inside unit MPa, which is N/mm².
    Pressure,
    /// Inside unit N/mm.
    Stiffness,
    /// Inside unit N·mm/rad.
    AngularStiffness,
    /// Inside unit kg.
    Mass,
    /// Inside unit mm/s.
    Speed,
    /// Inside unit rad/s.
    TurningSpeed,
    /// A plain number without a unit.
    Count,
}

impl Kind {
    /// Every kind, in the order of the declaration.
    pub const ALL: [Kind; 11] = [
        Kind::Length,
        Kind::Angle,
        Kind::Force,
        Kind::Moment,
        Kind::Pressure,
        Kind::Stiffness,
        Kind::AngularStiffness,
        Kind::Mass,
        Kind::Speed,
        Kind::TurningSpeed,
        Kind::Count,
    ];

    /// The kind without its article: `length`, `angular stiffness`.
    pub fn noun(self) -> &'static str {
        let words = self.words();
        words.split_once(' ').map_or(words, |(_, noun)| noun)
    }

    /// The kind with its article, as it stands in a sentence: `a length`, `an angle`.
    pub fn words(self) -> &'static str {
        match self {
            Kind::Length => "a length",
            Kind::Angle => "an angle",
            Kind::Force => "a force",
            Kind::Moment => "a moment",
            Kind::Pressure => "a pressure",
            Kind::Stiffness => "a stiffness",
            Kind::AngularStiffness => "an angular stiffness",
            Kind::Mass => "a mass",
            Kind::Speed => "a speed",
            Kind::TurningSpeed => "a turning speed",
            Kind::Count => "a plain number",
        }
    }

    /// The unit in which values of this kind are held.
    pub fn inside(self) -> Unit {
        match self {
            Kind::Length => Unit::Millimetre,
            Kind::Angle => Unit::Radian,
            Kind::Force => Unit::Newton,
            Kind::Moment => Unit::NewtonMillimetre,
            Kind::Pressure => Unit::Megapascal,
            Kind::Stiffness => Unit::NewtonPerMillimetre,
            Kind::AngularStiffness => Unit::NewtonMillimetrePerRadian,
            Kind::Mass => Unit::Kilogram,
            Kind::Speed => Unit::MillimetrePerSecond,
            Kind::TurningSpeed => Unit::RadianPerSecond,
            Kind::Count => Unit::One,
        }
    }

    /// A quantity of this kind as somebody may write it.
    pub fn example(self) -> &'static str {
        match self {
            Kind::Length => "12.5 mm",
            Kind::Angle => "35 deg",
            Kind::Force => "8 kN",
            Kind::Moment => "2 N·m",
            Kind::Pressure => "6 bar",
            Kind::Stiffness => "40 N/mm",
            Kind::AngularStiffness => "3 N·m/deg",
            Kind::Mass => "1.2 kg",
            Kind::Speed => "50 mm/s",
            Kind::TurningSpeed => "90 rpm",
            Kind::Count => "3",
        }
    }

    /// The units of this kind, in the order of the table.
    pub fn units(self) -> impl Iterator<Item = Unit> {
        Unit::ALL
            .iter()
            .copied()
            .filter(move |unit| unit.kind() == self)
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// Pound-force in newton over 1e13: 0.453 592 37 kg times 9.806 65 m/s², both exact, multiplied out.
const LBF: f64 = 44_482_216_152_605.0;

macro_rules! units {
    ($($name:ident $kind:ident $symbol:literal [$($also:literal),*] $up:expr, $down:expr, $source:literal;)*) => {
        /// One unit, with its symbol, kind and factor.
        ///
        /// `SI`: the SI Brochure, 9th edition, from memory. `811`: NIST Special Publication 811 (2008), appendix
        /// B.8, compared with two printed copies of its factors. Factors built from others name them. All are exact
        /// up to the rounding of a double and of π.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Unit {
            $(
                #[doc = concat!("`", $symbol, "`: ", $source, ".")]
                $name,
            )*
        }

        impl Unit {
            /// Every unit, in the order of the table.
            pub const ALL: &'static [Unit] = &[$(Unit::$name),*];

            /// What the unit measures.
            pub const fn kind(self) -> Kind {
                match self { $(Unit::$name => Kind::$kind,)* }
            }

            /// The spelling that is printed.
            pub const fn symbol(self) -> &'static str {
                match self { $(Unit::$name => $symbol,)* }
            }

            /// Other spellings that are read.
            pub const fn also(self) -> &'static [&'static str] {
                match self { $(Unit::$name => &[$($also),*],)* }
            }

            /// Where the factor comes from.
            pub const fn source(self) -> &'static str {
                match self { $(Unit::$name => $source,)* }
            }

            /// The factor as a quotient, of whole numbers where it can be: 127/5 makes 1.5 in 38.1 mm to the last
            /// bit, which 25.4 does not.
            const fn quotient(self) -> (f64, f64) {
                match self { $(Unit::$name => ($up, $down),)* }
            }
        }
    };
}

units! {
    Millimetre Length "mm" ["millimetre", "millimetres", "millimeter", "millimeters"] 1.0, 1.0, "SI";
    Centimetre Length "cm" ["centimetre", "centimetres", "centimeter", "centimeters"] 10.0, 1.0, "SI";
    Metre Length "m" ["metre", "metres", "meter", "meters"] 1000.0, 1.0, "SI";
    Micrometre Length "µm" ["um", "micron", "microns"] 1.0, 1000.0, "SI";
    Inch Length "in" ["\"", "inch", "inches"] 127.0, 5.0, "25.4 mm exactly (811)";
    Thou Length "thou" ["mil", "mils"] 127.0, 5000.0, "a thousandth of an inch (811, mil)";
    Foot Length "ft" ["'", "foot", "feet"] 1524.0, 5.0, "12 in (811)";
    Degree Angle "deg" ["°", "degree", "degrees"] PI, 180.0, "π/180 rad (SI, table 8)";
    Radian Angle "rad" ["radian", "radians"] 1.0, 1.0, "SI";
    Turn Angle "turn" ["turns"] 2.0 * PI, 1.0, "2π rad (811, revolution)";
    Newton Force "N" ["newton", "newtons"] 1.0, 1.0, "SI";
    Kilonewton Force "kN" [] 1000.0, 1.0, "SI";
    PoundForce Force "lbf" [] LBF, 1.0e13, "0.453 592 37 kg times 9.806 65 m/s² (811)";
    KilogramForce Force "kgf" [] 980_665.0, 1.0e5, "9.806 65 N exactly (811)";
    NewtonMillimetre Moment "N·mm" ["Nmm"] 1.0, 1.0, "SI";
    NewtonMetre Moment "N·m" ["Nm"] 1000.0, 1.0, "SI";
    KilonewtonMetre Moment "kN·m" ["kNm"] 1.0e6, 1.0, "SI";
    PoundForceInch Moment "lbf·in" ["in·lbf", "lb·in", "in·lb"] LBF * 127.0, 5.0e13, "lbf times in (811)";
    PoundForceFoot Moment "lbf·ft" ["ft·lbf", "lb·ft", "ft·lb"] LBF * 1524.0, 5.0e13, "lbf times ft (811)";
    KilogramForceMetre Moment "kgf·m" [] 980_665.0, 100.0, "kgf times m (811)";
    Megapascal Pressure "MPa" ["N/mm2"] 1.0, 1.0, "SI";
    Kilopascal Pressure "kPa" [] 1.0, 1000.0, "SI";
    Pascal Pressure "Pa" ["N/m2"] 1.0, 1.0e6, "SI";
    Gigapascal Pressure "GPa" ["kN/mm2"] 1000.0, 1.0, "SI";
    Bar Pressure "bar" [] 1.0, 10.0, "100 kPa exactly (811)";
    PoundPerSquareInch Pressure "psi" ["lbf/in2"] LBF, 645.16e13, "lbf over in² (811)";
    KilopoundPerSquareInch Pressure "ksi" [] LBF, 645.16e10, "1000 psi (811)";
    NewtonPerMillimetre Stiffness "N/mm" ["kN/m"] 1.0, 1.0, "SI";
    KilonewtonPerMillimetre Stiffness "kN/mm" [] 1000.0, 1.0, "SI";
    NewtonPerMetre Stiffness "N/m" [] 1.0, 1000.0, "SI";
    PoundForcePerInch Stiffness "lbf/in" ["lb/in"] LBF, 25.4e13, "lbf over in (811)";
    NewtonMillimetrePerRadian AngularStiffness "N·mm/rad" ["Nmm/rad"] 1.0, 1.0, "SI";
    NewtonMetrePerRadian AngularStiffness "N·m/rad" ["Nm/rad"] 1000.0, 1.0, "SI";
    NewtonMillimetrePerDegree AngularStiffness "N·mm/deg" ["Nmm/deg", "N·mm/°", "Nmm/°"] 180.0, PI, "N·mm over π/180 rad";
    NewtonMetrePerDegree AngularStiffness "N·m/deg" ["Nm/deg", "N·m/°", "Nm/°"] 180.0e3, PI, "N·m over π/180 rad";
    PoundForceInchPerRadian AngularStiffness "lbf·in/rad" ["in·lbf/rad", "lb·in/rad", "in·lb/rad"] LBF * 127.0, 5.0e13, "lbf·in over rad";
    PoundForceInchPerDegree AngularStiffness "lbf·in/deg" ["in·lbf/deg", "lb·in/deg", "in·lb/deg"] LBF * 127.0 * 180.0, 5.0e13 * PI, "lbf·in over π/180 rad";
    Kilogram Mass "kg" ["kilogram", "kilograms"] 1.0, 1.0, "SI";
    Gram Mass "g" ["gram", "grams"] 1.0, 1000.0, "SI";
    Pound Mass "lb" ["lbs", "lbm", "pound", "pounds"] 45_359_237.0, 1.0e8, "0.453 592 37 kg exactly (811)";
    Ounce Mass "oz" ["ounce", "ounces"] 45_359_237.0, 16.0e8, "a sixteenth of a pound (811)";
    MillimetrePerSecond Speed "mm/s" [] 1.0, 1.0, "SI";
    MetrePerSecond Speed "m/s" [] 1000.0, 1.0, "SI";
    MillimetrePerMinute Speed "mm/min" [] 1.0, 60.0, "mm over 60 s";
    MetrePerMinute Speed "m/min" [] 1000.0, 60.0, "m over 60 s";
    InchPerSecond Speed "in/s" [] 127.0, 5.0, "in over s (811)";
    InchPerMinute Speed "in/min" ["ipm"] 127.0, 300.0, "in over 60 s";
    FootPerMinute Speed "ft/min" ["fpm", "sfm"] 1524.0, 300.0, "ft over 60 s (811)";
    TurnPerMinute TurningSpeed "rpm" ["turn/min", "turns/min", "rev/min", "r/min"] PI, 30.0, "2π rad over 60 s (811, rpm)";
    TurnPerSecond TurningSpeed "turn/s" ["turns/s", "rev/s", "r/s", "rps"] 2.0 * PI, 1.0, "2π rad over s";
    RadianPerSecond TurningSpeed "rad/s" [] 1.0, 1.0, "SI";
    DegreePerSecond TurningSpeed "deg/s" ["°/s"] PI, 180.0, "π/180 rad over s";
    One Count "" [] 1.0, 1.0, "a plain number";
}

impl Unit {
    /// One of this unit, in the inside unit of its kind.
    pub const fn factor(self) -> f64 {
        let (up, down) = self.quotient();
        up / down
    }

    /// `x` of this unit, in the inside unit of its kind.
    ///
    /// ```
    /// assert_eq!(quantity::Unit::Inch.to_inside(0.5), 12.7);
    /// ```
    pub const fn to_inside(self, x: f64) -> f64 {
        let (up, down) = self.quotient();
        x * up / down
    }

    /// `value`, held in the inside unit, counted in this unit.
    ///
    /// ```
    /// assert_eq!(quantity::Unit::Thou.from_inside(1.524), 60.0);
    /// ```
    pub const fn from_inside(self, value: f64) -> f64 {
        let (up, down) = self.quotient();
        value * down / up
    }

    /// All spellings that are read, the printed one first.
    pub fn spellings(self) -> impl Iterator<Item = &'static str> {
        std::iter::once(self.symbol()).chain(self.also().iter().copied())
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}
