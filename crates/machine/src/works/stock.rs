//! Stock, masses and materials.

use super::{inner_table, lone, positive};
use crate::declared::{Declared, Named};
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape};
use crate::work::{Made, Material, Section, Stock};
use quantity::Kind as Measure;

/// Keys of parts, shafts and rods that this module reads.
const MADE: Shape = Shape {
    a: "a part",
    keys: &[
        (
            "stock",
            "stock = { flat = [\"6 mm\", \"30 mm\"], material = \"steel\" }",
        ),
        ("mass", "mass = \"2.5 kg\""),
        ("bearings", "bearings = [\"-70 mm\", \"70 mm\"]"),
    ],
};

const STOCK: Shape = Shape {
    a: "stock",
    keys: &[
        ("flat", "flat = [\"6 mm\", \"30 mm\"]"),
        ("round", "round = \"20 mm\""),
        ("tube", "tube = [\"12 mm\", \"8 mm\"]"),
        ("material", "material = \"steel\""),
    ],
};

const MATERIAL: Shape = Shape {
    a: "a material",
    keys: &[
        ("modulus", "modulus = \"105 GPa\""),
        ("shear", "shear = \"40 GPa\""),
        ("density", "density = \"8.8 g/cm3\""),
    ],
};

/// Name, Young's modulus MPa, shear modulus MPa, density kg/mm³, source.
const GIVEN: [(&str, f64, f64, f64, &str); 8] = [
    (
        "steel",
        207_000.0,
        79_300.0,
        7.85e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
    ),
    (
        "stainless",
        190_000.0,
        73_100.0,
        7.75e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
    ),
    (
        "cast-iron",
        100_000.0,
        41_400.0,
        7.2e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
    ),
    (
        "aluminium",
        71_700.0,
        26_900.0,
        2.8e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
    ),
    (
        "brass",
        106_000.0,
        40_100.0,
        8.55e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
    ),
    (
        "bronze",
        111_000.0,
        41_400.0,
        8.17e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
    ),
    (
        "oak",
        11_000.0,
        700.0,
        0.7e-6,
        "common practice, along the grain",
    ),
    ("acetal", 3_000.0, 1_100.0, 1.41e-6, "common practice"),
];

/// Names of the given materials, which an own one cannot take.
pub(crate) fn given() -> impl Iterator<Item = &'static str> {
    GIVEN.iter().map(|g| g.0)
}

/// The given materials and the file's own, in the order of their names on the desk.
pub(super) fn materials(desk: &mut Desk, named: &[Named]) -> Vec<Option<Material>> {
    let given = GIVEN
        .iter()
        .map(|&(name, modulus, shear, density, source)| {
            Some(Material {
                name: name.to_owned(),
                modulus,
                shear,
                density,
                source,
            })
        });
    let mut all: Vec<Option<Material>> = given.collect();
    all.extend(named.iter().map(|n| material(desk, n)));
    all
}

fn material(desk: &mut Desk, named: &Named) -> Option<Material> {
    let fields = Fields::new(desk, named.what(), &MATERIAL, &named.entry)?;
    let modulus = fields
        .need(desk, "modulus")
        .and_then(|f| positive(desk, &f, Measure::Pressure, false));
    let shear = fields
        .get("shear")
        .map(|f| positive(desk, &f, Measure::Pressure, false));
    let density = fields.need(desk, "density").and_then(|f| density(desk, &f));
    let modulus = modulus?;
    Some(Material {
        name: named.entry.name.to_owned(),
        modulus,
        // Poisson's ratio 0.3 where nothing else is known.
        shear: shear.unwrap_or(Some(modulus / 2.6))?,
        density: density?,
        source: "the machine file",
    })
}

/// kg/mm³.
fn density(desk: &mut Desk, field: &Field) -> Option<f64> {
    let text = field.text(desk, "a density in quotes")?;
    let units = [
        ("g/cm3", 1e-6),
        ("g/cm³", 1e-6),
        ("kg/dm3", 1e-6),
        ("kg/m3", 1e-9),
        ("kg/m³", 1e-9),
    ];
    for (unit, factor) in units {
        if let Some(number) = text.trim().strip_suffix(unit)
            && let Ok(x) = number.trim().parse::<f64>()
            && x > 0.0
            && x.is_finite()
        {
            return Some(x * factor);
        }
    }
    field.bad(
        desk,
        "this is no density",
        "write it like \"7.85 g/cm3\" or \"7850 kg/m3\"",
    );
    None
}

/// One a part; the frame first and empty.
pub(super) fn parts(desk: &mut Desk, declared: &Declared) -> Vec<Made> {
    let mut all = vec![Made::default()];
    for named in &declared.parts {
        let mut made = made(desk, named);
        if named.section == "shaft"
            && let Some(field) = lone(named, &MADE, "bearings")
        {
            made.bearings = field.lengths(desk);
            if let Some([a, b]) = made.bearings
                && a == b
            {
                field.bad(
                    desk,
                    "the two bearings stand at one place",
                    "give the stations of two bearings that stand apart",
                );
            }
        }
        all.push(made);
    }
    all
}

/// One a rod.
pub(super) fn rods(desk: &mut Desk, declared: &Declared) -> Vec<Made> {
    declared.rods.iter().map(|n| made(desk, n)).collect()
}

fn made(desk: &mut Desk, named: &Named) -> Made {
    let stock = lone(named, &MADE, "stock").and_then(|f| stock(desk, named, &f));
    let mass = lone(named, &MADE, "mass").and_then(|f| positive(desk, &f, Measure::Mass, true));
    Made {
        stock,
        mass,
        bearings: None,
    }
}

fn stock(desk: &mut Desk, named: &Named, field: &Field) -> Option<Stock> {
    let what = format!("the stock of {}", named.what());
    let fields = Fields::new(desk, what.clone(), &STOCK, &inner_table(field))?;
    let form = fields.one_of(desk, &["flat", "round", "tube"]);
    let material = match fields.get("material") {
        Some(f) => f.name(desk, Kind::Material),
        None => desk.find(Kind::Material, "steel"),
    };
    let form = form?;
    let section = if form.key == "round" {
        Section::Round(form.positive_length(desk)?)
    } else {
        let [a, b] = form.lengths(desk)?;
        if a <= 0.0 || b <= 0.0 || (form.key == "tube" && b >= a) {
            let help = if form.key == "tube" {
                "write the outside diameter first, then the bore, which is smaller"
            } else {
                "both the thickness and the width have to be above zero"
            };
            desk.push(
                Diagnostic::error("wrong-value", format!("{what} cannot be"))
                    .at(form.place(), "")
                    .help(help),
            );
            return None;
        }
        if form.key == "flat" {
            Section::Flat([a, b])
        } else {
            Section::Tube([a, b])
        }
    };
    Some(Stock {
        section,
        material: material?,
        place: field.place(),
    })
}
