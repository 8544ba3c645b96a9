//! Usual shop materials. Every row names its condition: heat-treated steel without a temper has no strength.

use crate::error::not_listed;
use crate::press::Elastic;
use crate::{ElementError, Source};

/// The family.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family {
    /// Carbon and alloy steel, tool steel.
    Steel,
    /// Stainless steel.
    Stainless,
    /// Aluminium alloys.
    Aluminium,
    /// Brass.
    Brass,
    /// Bronze.
    Bronze,
    /// Grey and ductile iron.
    Iron,
    /// Plastics.
    Plastic,
}

/// What the strengths are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// The least that the standard or the maker warrants.
    Minimum,
    /// What is usually found; single bars differ by 10 % and more.
    Typical,
}

/// A material in a condition, MPa, kg/mm³, 1/K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// Name and condition.
    pub name: &'static str,
    /// The family.
    pub family: Family,
    /// Modulus of elasticity.
    pub youngs: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Density.
    pub density: f64,
    /// Linear expansion.
    pub expansion: f64,
    /// Yield strength; `None` where it breaks without.
    pub yields: Option<f64>,
    /// Tensile strength.
    pub tensile: f64,
    /// What the strengths are.
    pub level: Level,
    /// Where they come from.
    pub source: Source,
}

impl Material {
    /// Shear modulus E/(2(1+ν)), MPa.
    pub fn shear_modulus(&self) -> f64 {
        self.youngs / (2.0 * (1.0 + self.poisson))
    }

    /// The constants that press fits and contacts need.
    pub fn elastic(&self) -> Elastic {
        Elastic {
            youngs: self.youngs,
            poisson: self.poisson,
            expansion: self.expansion,
        }
    }
}

/// E, ν, density, expansion (Shigley table A-5 and alloy data sheets, from memory).
type Constants = (f64, f64, f64, f64);
const STEEL: Constants = (207_000.0, 0.292, 7.85e-6, 11.5e-6);
const TOOL_STEEL: Constants = (207_000.0, 0.292, 7.83e-6, 11.5e-6);
const STAINLESS: Constants = (193_000.0, 0.29, 7.93e-6, 16.5e-6);
const PRECIPITATION: Constants = (196_000.0, 0.28, 7.80e-6, 10.8e-6);
const ALUMINIUM: Constants = (69_000.0, 0.33, 2.70e-6, 23.5e-6);
const HARD_ALUMINIUM: Constants = (72_000.0, 0.33, 2.80e-6, 23.2e-6);
const BRASS: Constants = (97_000.0, 0.34, 8.49e-6, 20.5e-6);
const BRONZE: Constants = (103_000.0, 0.34, 8.93e-6, 18.0e-6);
const TIN_BRONZE: Constants = (110_000.0, 0.34, 8.86e-6, 17.8e-6);
const ALUMINIUM_BRONZE: Constants = (107_000.0, 0.32, 7.45e-6, 16.2e-6);
const GREY_IRON: Constants = (100_000.0, 0.211, 7.2e-6, 10.5e-6);
const DUCTILE_IRON: Constants = (169_000.0, 0.275, 7.1e-6, 11.2e-6);
const ACETAL: Constants = (2_900.0, 0.35, 1.41e-6, 110.0e-6);
const NYLON: Constants = (2_800.0, 0.39, 1.14e-6, 80.0e-6);

const A20: Source =
    Source::seen("SAE/AISI estimated minima (three steel-stock tables; Shigley table A-20)");
const A20_MEMORY: Source = Source::memory("SAE/AISI estimated minima (Shigley table A-20)");
const A21: Source = Source::seen("heat-treated steel table (Shigley table A-21)");
const A21_MEMORY: Source = Source::memory("heat-treated steel table (Shigley table A-21)");
const ASTM: Source = Source::memory("ASTM minima for bar or plate");
const EN: Source = Source::memory("EN 10025-2, up to 16 mm");
const EN_THICK: Source = Source::memory("EN 10025-2, table of strengths by thickness");
const EN_DRAWN: Source = Source::memory("EN 10277, bright bar, least values by thickness");
const EN_QT: Source =
    Source::memory("EN ISO 683-2, quenched and tempered, least values by thickness");
const EN_OTHER: Source =
    Source::memory("EN 10088-3, EN 12163, EN 12164, EN 1982, EN 1561; least values");
const DOWEL: Source = Source::memory(
    "ISO 8734 (550 HV and more; ASME B18.8.5M prints 1050 MPa of shear), ISO 2338 (125 HV), shoulder screws (a maker prints 1100 MPa)",
);
const SHEET: Source = Source::memory("alloy data sheets");

const fn row(
    name: &'static str,
    family: Family,
    constants: Constants,
    strengths: (f64, f64),
    level: Level,
    source: Source,
) -> Material {
    let (youngs, poisson, density, expansion) = constants;
    let (yields, tensile) = strengths;
    Material {
        name,
        family,
        youngs,
        poisson,
        density,
        expansion,
        yields: if yields > 0.0 { Some(yields) } else { None },
        tensile,
        level,
        source,
    }
}

use Level::{Minimum, Typical};

/// All materials.
#[rustfmt::skip]
pub const MATERIALS: [Material; 70] = [
    row("1018 cold drawn", Family::Steel, STEEL, (370.0, 440.0), Minimum, A20),
    row("1018 hot rolled", Family::Steel, STEEL, (220.0, 400.0), Minimum, A20_MEMORY),
    row("1020 cold drawn", Family::Steel, STEEL, (390.0, 470.0), Minimum, A20_MEMORY),
    row("1020 hot rolled", Family::Steel, STEEL, (210.0, 380.0), Minimum, A20_MEMORY),
    row("1045 cold drawn", Family::Steel, STEEL, (530.0, 625.0), Minimum, A20),
    row("1045 hot rolled", Family::Steel, STEEL, (310.0, 565.0), Minimum, A20_MEMORY),
    row("12L14 cold drawn", Family::Steel, STEEL, (415.0, 540.0), Typical, SHEET),
    row("1144 stress relieved", Family::Steel, STEEL, (690.0, 790.0), Minimum, SHEET),
    row("4140 annealed 815 C", Family::Steel, STEEL, (417.0, 655.0), Typical, A21),
    row("4140 normalised 870 C", Family::Steel, STEEL, (655.0, 1020.0), Typical, A21),
    row("4140 QT 205 C", Family::Steel, STEEL, (1640.0, 1770.0), Typical, A21_MEMORY),
    row("4140 QT 315 C", Family::Steel, STEEL, (1430.0, 1550.0), Typical, A21_MEMORY),
    row("4140 QT 425 C", Family::Steel, STEEL, (1138.0, 1248.0), Typical, A21),
    row("4140 QT 540 C", Family::Steel, STEEL, (834.0, 951.0), Typical, A21),
    row("4140 QT 650 C", Family::Steel, STEEL, (655.0, 758.0), Typical, A21_MEMORY),
    row("4140 prehardened 28-32 HRC", Family::Steel, STEEL, (690.0, 900.0), Typical, SHEET),
    row("4340 QT 540 C", Family::Steel, STEEL, (1080.0, 1170.0), Typical, A21_MEMORY),
    row("ASTM A36", Family::Steel, STEEL, (250.0, 400.0), Minimum, ASTM),
    row("S235JR to 16 mm", Family::Steel, STEEL, (235.0, 360.0), Minimum, EN),
    row("S355J2 to 16 mm", Family::Steel, STEEL, (355.0, 470.0), Minimum, EN),
    row("O1 annealed", Family::Steel, TOOL_STEEL, (370.0, 650.0), Typical, SHEET),
    row("A2 annealed", Family::Steel, TOOL_STEEL, (380.0, 690.0), Typical, SHEET),
    row("303 annealed", Family::Stainless, STAINLESS, (240.0, 620.0), Typical, SHEET),
    row("304 annealed", Family::Stainless, STAINLESS, (205.0, 515.0), Minimum, ASTM),
    row("316 annealed", Family::Stainless, STAINLESS, (205.0, 515.0), Minimum, ASTM),
    row("17-4 PH H900", Family::Stainless, PRECIPITATION, (1170.0, 1310.0), Minimum, ASTM),
    row("17-4 PH H1150", Family::Stainless, PRECIPITATION, (725.0, 930.0), Minimum, ASTM),
    row("6061-T6", Family::Aluminium, ALUMINIUM, (276.0, 310.0), Typical, SHEET),
    row("6061-T6 minimum", Family::Aluminium, ALUMINIUM, (240.0, 290.0), Minimum, ASTM),
    row("6082-T6", Family::Aluminium, ALUMINIUM, (250.0, 290.0), Minimum, SHEET),
    row("6063-T5", Family::Aluminium, ALUMINIUM, (145.0, 186.0), Typical, SHEET),
    row("2024-T4", Family::Aluminium, HARD_ALUMINIUM, (324.0, 469.0), Typical, SHEET),
    row("7075-T6", Family::Aluminium, HARD_ALUMINIUM, (503.0, 572.0), Typical, SHEET),
    row("cast tool plate MIC-6", Family::Aluminium, ALUMINIUM, (105.0, 165.0), Typical, SHEET),
    row("C36000 half hard", Family::Brass, BRASS, (310.0, 400.0), Typical, SHEET),
    row("C36000 annealed", Family::Brass, BRASS, (124.0, 338.0), Typical, SHEET),
    row("C93200 bearing bronze", Family::Bronze, BRONZE, (125.0, 240.0), Typical, SHEET),
    row("C54400 phosphor bronze hard", Family::Bronze, TIN_BRONZE, (393.0, 469.0), Typical, SHEET),
    row("C95400 aluminium bronze", Family::Bronze, ALUMINIUM_BRONZE, (241.0, 586.0), Typical, SHEET),
    row("grey iron class 20", Family::Iron, GREY_IRON, (0.0, 138.0), Minimum, ASTM),
    row("grey iron class 30", Family::Iron, GREY_IRON, (0.0, 207.0), Minimum, ASTM),
    row("grey iron class 40", Family::Iron, GREY_IRON, (0.0, 276.0), Minimum, ASTM),
    row("ductile iron 65-45-12", Family::Iron, DUCTILE_IRON, (310.0, 448.0), Minimum, ASTM),
    row("acetal", Family::Plastic, ACETAL, (65.0, 69.0), Typical, SHEET),
    row("nylon 6/6", Family::Plastic, NYLON, (60.0, 80.0), Typical, SHEET),
    row("S235JR 16 to 40 mm", Family::Steel, STEEL, (225.0, 360.0), Minimum, EN_THICK),
    row("S235JR 40 to 63 mm", Family::Steel, STEEL, (215.0, 360.0), Minimum, EN_THICK),
    row("S355J2 16 to 40 mm", Family::Steel, STEEL, (345.0, 470.0), Minimum, EN_THICK),
    row("S355J2 40 to 63 mm", Family::Steel, STEEL, (335.0, 470.0), Minimum, EN_THICK),
    row("C45+C to 16 mm", Family::Steel, STEEL, (500.0, 710.0), Minimum, EN_DRAWN),
    row("C45+C 16 to 40 mm", Family::Steel, STEEL, (410.0, 650.0), Minimum, EN_DRAWN),
    row("C45+C 40 to 63 mm", Family::Steel, STEEL, (360.0, 630.0), Minimum, EN_DRAWN),
    row("11SMn30+C to 16 mm", Family::Steel, STEEL, (410.0, 490.0), Minimum, EN_DRAWN),
    row("11SMn30+C 16 to 40 mm", Family::Steel, STEEL, (375.0, 460.0), Minimum, EN_DRAWN),
    row("11SMn30+C 40 to 63 mm", Family::Steel, STEEL, (305.0, 400.0), Minimum, EN_DRAWN),
    row("42CrMo4+QT to 16 mm", Family::Steel, STEEL, (900.0, 1100.0), Minimum, EN_QT),
    row("42CrMo4+QT 16 to 40 mm", Family::Steel, STEEL, (750.0, 1000.0), Minimum, EN_QT),
    row("42CrMo4+QT 40 to 63 mm", Family::Steel, STEEL, (650.0, 900.0), Minimum, EN_QT),
    row("16MnCr5+A", Family::Steel, STEEL, (310.0, 500.0), Typical, SHEET),
    row("115CrV3 annealed", Family::Steel, TOOL_STEEL, (420.0, 680.0), Typical, SHEET),
    row("1.4301 annealed", Family::Stainless, STAINLESS, (190.0, 500.0), Minimum, EN_OTHER),
    row("1.4305 annealed", Family::Stainless, STAINLESS, (190.0, 500.0), Minimum, EN_OTHER),
    row("CW614N R430", Family::Brass, BRASS, (200.0, 430.0), Minimum, EN_OTHER),
    row("CuSn8 R390", Family::Bronze, TIN_BRONZE, (260.0, 390.0), Minimum, EN_OTHER),
    row("CC493K continuously cast", Family::Bronze, BRONZE, (120.0, 260.0), Minimum, EN_OTHER),
    row("EN-GJL-250", Family::Iron, GREY_IRON, (0.0, 250.0), Minimum, EN_OTHER),
    row("dowel pin ISO 8734 hardened", Family::Steel, TOOL_STEEL, (1300.0, 1700.0), Minimum, DOWEL),
    row("dowel pin ISO 2338 soft", Family::Steel, STEEL, (250.0, 420.0), Minimum, DOWEL),
    row("shoulder screw ISO 7379", Family::Steel, STEEL, (990.0, 1100.0), Minimum, DOWEL),
    row("EN-GJS-400-15", Family::Iron, DUCTILE_IRON, (250.0, 400.0), Minimum, EN_OTHER),
];

/// What polished bars bore of a load that goes to and fro.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Borne {
    /// Stress, MPa.
    pub stress: f64,
    /// So many loads.
    pub loads: f64,
    /// Where it comes from.
    pub source: Source,
}

/// Aluminium at 5·10⁸ loads on the turning bar.
const TURNING: Source =
    Source::memory("aluminium, 5·10⁸ loads on the turning bar (alloy data sheets)");
const COPPER: Source = Source::memory("copper alloys, 10⁸ loads (alloy data sheets)");
const IRONS: Source =
    Source::memory("iron as cast (Shigley table A-24; EN 1561 and EN 1563, informative)");

/// Fatigue strengths of what is no steel, by name.
const BORNE: [(&str, f64, f64, Source); 17] = [
    ("6061-T6", 97.0, 5e8, TURNING),
    ("6061-T6 minimum", 90.0, 5e8, TURNING),
    ("6082-T6", 95.0, 5e8, TURNING),
    ("6063-T5", 69.0, 5e8, TURNING),
    ("2024-T4", 138.0, 5e8, TURNING),
    ("7075-T6", 159.0, 5e8, TURNING),
    ("C36000 half hard", 138.0, 1e8, COPPER),
    ("C93200 bearing bronze", 110.0, 1e8, COPPER),
    ("C95400 aluminium bronze", 193.0, 1e8, COPPER),
    ("CC493K continuously cast", 90.0, 1e8, COPPER),
    ("CW614N R430", 130.0, 1e8, COPPER),
    ("grey iron class 20", 69.0, 1e7, IRONS),
    ("grey iron class 30", 97.0, 1e7, IRONS),
    ("grey iron class 40", 128.0, 1e7, IRONS),
    ("EN-GJL-250", 120.0, 1e7, IRONS),
    ("ductile iron 65-45-12", 190.0, 1e7, IRONS),
    ("EN-GJS-400-15", 180.0, 1e7, IRONS),
];

impl Material {
    /// What it bears of a load that goes to and fro, where that is tested and does not follow from its tensile strength as it does for steel.
    ///
    /// ```
    /// // Shigley table A-24: 14.0 kpsi for class 30.
    /// let iron = elements::materials::find("grey iron class 30").unwrap();
    /// assert!((iron.borne().unwrap().stress / 6.895 - 14.0).abs() < 0.1);
    /// assert!(elements::materials::find("1018 cold drawn").unwrap().borne().is_none());
    /// ```
    pub fn borne(&self) -> Option<Borne> {
        let row = BORNE.iter().find(|(name, ..)| *name == self.name)?;
        Some(Borne {
            stress: row.1,
            loads: row.2,
            source: row.3,
        })
    }
}

/// Words that name a treatment but no strength.
const VAGUE: [&str; 5] = ["heat", "treated", "hardened", "tempered", "ht"];

/// Finds a material whose name has all the words given, in any order and case; `Q+T` reads as `QT`.
///
/// # Errors
/// [`ElementError::NotListed`] with the rows to choose from: when nothing matches, when several do (`4140` alone), or
/// when a heat treatment is named without its temper (`4140 heat treated`).
///
/// ```
/// use elements::materials::find;
/// assert_eq!(find("1018 cold drawn").unwrap().yields, Some(370.0));
/// let vague = find("4140 heat treated").unwrap_err().to_string();
/// assert!(vague.contains("4140 QT 540 C"));
/// ```
pub fn find(name: &str) -> Result<&'static Material, ElementError> {
    let wanted = words(name);
    let clear: Vec<&String> = wanted
        .iter()
        .filter(|w| !VAGUE.contains(&w.as_str()))
        .collect();
    let has = |m: &&Material| {
        let own = words(m.name);
        clear.iter().all(|w| own.contains(w))
    };
    let same: Vec<&'static Material> = MATERIALS
        .iter()
        .filter(|m| words(m.name) == wanted)
        .collect();
    if let [only] = same.as_slice() {
        return Ok(only);
    }
    let found: Vec<&'static Material> = if clear.is_empty() {
        Vec::new()
    } else {
        MATERIALS.iter().filter(has).collect()
    };
    // One grade that only its thickness divides: the thinnest, until the stock says otherwise.
    let thinnest = found
        .iter()
        .find(|m| m.name.ends_with(THIN))
        .filter(|first| {
            let steel = first.name.trim_end_matches(THIN);
            found
                .iter()
                .all(|m| m.name.starts_with(steel) && m.name.ends_with(" mm"))
        });
    if let (Some(thin), true) = (thinnest, clear.len() == wanted.len()) {
        return Ok(thin);
    }
    match found.as_slice() {
        [only] if clear.len() == wanted.len() => Ok(only),
        [] => Err(not_listed("material", name, near(&wanted))),
        some => Err(not_listed(
            "single material",
            name,
            some.iter().map(|m| m.name),
        )),
    }
}

/// How the thinnest of a grade is marked, and the thicker ones with their greatest thickness, mm.
const THIN: &str = " to 16 mm";
const THICKER: [(f64, &str); 2] = [(40.0, " 16 to 40 mm"), (63.0, " 40 to 63 mm")];

/// The row of the same grade for stock of this thickness, mm, where the standard divides by it. Stock thicker than its last row gets that.
///
/// ```
/// use elements::materials::{find, of_thickness};
/// let plate = of_thickness(find("S355J2").unwrap(), 20.0);
/// assert_eq!(plate.yields, Some(345.0));
/// ```
pub fn of_thickness(material: &'static Material, thickness: f64) -> &'static Material {
    let Some(grade) = material.name.strip_suffix(THIN) else {
        return material;
    };
    if thickness <= 16.0 + 1e-9 {
        return material;
    }
    let last = THICKER.len() - 1;
    let (_, mark) = THICKER
        .iter()
        .find(|(to, _)| thickness <= to + 1e-9)
        .unwrap_or(&THICKER[last]);
    let name = format!("{grade}{mark}");
    MATERIALS
        .iter()
        .find(|m| m.name == name)
        .unwrap_or(material)
}

fn words(name: &str) -> Vec<String> {
    name.replace("Q+T", "QT")
        .split(|c: char| c.is_whitespace() || c == ',')
        .filter(|w| !w.is_empty())
        .map(str::to_ascii_lowercase)
        .map(|w| match w.as_str() {
            "gray" => String::from("grey"),
            "aluminum" => String::from("aluminium"),
            "normalized" => String::from("normalised"),
            _ => w,
        })
        .collect()
}

/// Rows that share a word, a number or the family that is named, the most alike first; or all of them.
fn near(wanted: &[String]) -> Vec<&'static str> {
    let family = |m: &Material| match m.family {
        Family::Steel => "steel",
        Family::Stainless => "stainless",
        Family::Aluminium => "aluminium",
        Family::Brass => "brass",
        Family::Bronze => "bronze",
        Family::Iron => "iron",
        Family::Plastic => "plastic",
    };
    let digits = |w: &str| -> String { w.chars().filter(char::is_ascii_digit).collect() };
    let alike = |m: &Material| {
        let own = words(m.name);
        let one = |w: &String| {
            let number = digits(w);
            own.contains(w) && w.len() > 2
                || w == family(m)
                || number.len() > 2 && own.iter().any(|o| digits(o).starts_with(&number))
        };
        wanted.iter().filter(|w| one(w)).count()
    };
    let mut some: Vec<(usize, &str)> = MATERIALS
        .iter()
        .map(|m| (alike(m), m.name))
        .filter(|(n, _)| *n > 0)
        .collect();
    some.sort_by_key(|(n, _)| std::cmp::Reverse(*n));
    if some.is_empty() || some.len() > MANY {
        MATERIALS.iter().map(|m| m.name).collect()
    } else {
        some.into_iter().map(|s| s.1).collect()
    }
}

/// More rows than these are no help.
const MANY: usize = 15;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_sound() {
        for m in &MATERIALS {
            assert!(m.yields.is_none_or(|y| y < m.tensile), "{}", m.name);
            assert!(m.poisson > 0.2 && m.poisson < 0.5);
            assert!(m.shear_modulus() > m.youngs / 3.0 && m.shear_modulus() < m.youngs / 2.0);
            assert!(m.density > 1e-6 && m.density < 9e-6);
            assert_eq!(find(m.name).unwrap(), m, "{}", m.name);
        }
    }

    /// EN 10025-2, table 7: yield 235, 225, 215 and 355, 345, 335 to 16, 40 and 63 mm (from memory).
    #[test]
    fn thick_plate_is_softer() {
        for (grade, printed) in [
            ("S235JR", [235.0, 225.0, 215.0]),
            ("S355J2", [355.0, 345.0, 335.0]),
        ] {
            let thin = find(grade).unwrap();
            let found = [10.0, 20.0, 50.0].map(|t| of_thickness(thin, t).yields.unwrap());
            assert_eq!(found, printed, "{grade}");
            assert_eq!(of_thickness(thin, 16.0).yields, Some(printed[0]));
        }
        assert_eq!(find("42CrMo4+QT").unwrap().yields, Some(900.0));
        assert_eq!(
            of_thickness(find("1018 cold drawn").unwrap(), 80.0).name,
            "1018 cold drawn"
        );
    }

    /// Every name of the table of what was borne is a material, no steel, and bears less of a load to and fro than of one that stands; cast
    /// irons 0.35 to 0.55 of their tensile strength (Shigley 6-7).
    #[test]
    fn fatigue_strengths_are_sound() {
        for (name, stress, loads, _) in BORNE {
            let m = find(name).unwrap();
            assert_eq!(m.name, name);
            assert!(!matches!(m.family, Family::Steel | Family::Stainless));
            let share = stress / m.tensile;
            assert!((0.25..0.51).contains(&share), "{name}: {share}");
            assert!(loads >= 1e7 && m.borne().is_some());
        }
    }

    /// What is asked for by another name is answered with what is alike.
    #[test]
    fn other_names_are_answered() {
        let asked = |text: &str| find(text).unwrap_err().to_string();
        assert!(asked("360 brass").contains("C36000 half hard"));
        assert!(asked("grey cast iron").contains("it has grey iron class 20"));
        assert_eq!(
            find("4140 normalized").unwrap().name,
            "4140 normalised 870 C"
        );
        assert!(find("gray iron class 30").is_ok());
    }

    #[test]
    fn a_higher_temper_is_softer() {
        let tempers = [
            "4140 QT 205 C",
            "4140 QT 315 C",
            "4140 QT 425 C",
            "4140 QT 540 C",
            "4140 QT 650 C",
        ];
        let strengths: Vec<f64> = tempers.iter().map(|t| find(t).unwrap().tensile).collect();
        assert!(strengths.windows(2).all(|w| w[0] > w[1]));
    }

    #[test]
    fn vague_names_are_refused() {
        for text in [
            "4140",
            "4140 heat treated",
            "4140 QT",
            "1018",
            "steel",
            "",
            "unobtainium",
            "heat treated",
        ] {
            assert!(find(text).is_err(), "{text}");
        }
        assert_eq!(find("4140 Q+T 425 C").unwrap().name, "4140 QT 425 C");
        assert_eq!(find("cold drawn 1045").unwrap().name, "1045 cold drawn");
        assert_eq!(find("C93200").unwrap().family, Family::Bronze);
        assert_eq!(find("6061-t6").unwrap().level, Level::Typical);
    }
}
