//! One type per kind, for places where people pass values on: a length cannot be given for an angle.

use std::ops::{Add, Div, Mul, Neg, Sub};

use crate::Unit;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident: $($from:ident $get:ident $unit:ident),+) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(
            /// The value in the inside unit.
            pub f64,
        );

        impl $name {
            $(
                #[doc = concat!("From a number of `", stringify!($unit), "`.")]
                pub const fn $from(x: f64) -> Self {
                    Self(Unit::$unit.to_inside(x))
                }

                #[doc = concat!("As a number of `", stringify!($unit), "`.")]
                pub const fn $get(self) -> f64 {
                    Unit::$unit.from_inside(self.0)
                }
            )+
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }
    };
}

quantity! {
    /// A length, held in mm.
    ///
    /// ```
    /// use quantity::Length;
    /// assert_eq!(Length::from_inches(1.25).mm(), 31.75);
    /// ```
    Length: from_mm mm Millimetre, from_inches inches Inch, from_thou thou Thou
}
quantity! {
    /// An angle, held in rad. Counter-clockwise is positive.
    ///
    /// ```
    /// use quantity::Angle;
    /// assert_eq!(Angle::from_turns(0.5).rad(), std::f64::consts::PI);
    /// ```
    Angle: from_rad rad Radian, from_deg deg Degree, from_turns turns Turn
}
quantity! {
    /// A force, held in N.
    Force: from_newtons newtons Newton, from_pounds_force pounds_force PoundForce
}
quantity! {
    /// A moment, held in N·mm.
    Moment: from_newton_mm newton_mm NewtonMillimetre, from_newton_metres newton_metres NewtonMetre
}
quantity! {
    /// A pressure or stress, held in MPa.
    Pressure: from_mpa mpa Megapascal, from_psi psi PoundPerSquareInch
}
quantity! {
    /// A stiffness, held in N/mm.
    Stiffness: from_newtons_per_mm newtons_per_mm NewtonPerMillimetre
}
quantity! {
    /// A stiffness against turning, held in N·mm/rad.
    AngularStiffness: from_newton_mm_per_rad newton_mm_per_rad NewtonMillimetrePerRadian
}
quantity! {
    /// A mass, held in kg.
    Mass: from_kg kg Kilogram, from_pounds pounds Pound
}
quantity! {
    /// A speed along a line, held in mm/s.
    Speed: from_mm_per_s mm_per_s MillimetrePerSecond
}
quantity! {
    /// A turning speed, held in rad/s.
    Turning: from_rad_per_s rad_per_s RadianPerSecond, from_rpm rpm TurnPerMinute
}
