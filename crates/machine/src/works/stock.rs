//! Stock, masses and materials.

use super::{held, inner_table, lone, positive};
use crate::declared::{Declared, Named};
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape};
use crate::ground::Ground;
use crate::words::clip;
use crate::work::{Column, Made, Material, Section, Stock};
use elements::columns::Ends;
use elements::{ElementError, materials};
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
        ("inertia", "inertia = \"0.02 kg m2\""),
        (
            "mass-at",
            "mass-at = \"lever-grip\"` or `mass-at = [40, -12]",
        ),
        ("station", "station = \"12 mm\""),
        ("bearings", "bearings = [\"-70 mm\", \"70 mm\"]"),
        ("held-by", "held-by = { set-screw = \"M6\", count = 2 }"),
        ("rod-ends", "rod-ends = \"M8 female\""),
        ("rod-end-load", "rod-end-load = \"12 kN\""),
        (
            "column",
            "column = { ends = \"fixed and free\", off = \"2 mm\" }",
        ),
    ],
};

const COLUMN: Shape = Shape {
    a: "a column",
    keys: &[
        ("ends", "ends = \"fixed and free\""),
        ("off", "off = \"2 mm\""),
        ("threaded", "threaded = true"),
    ],
};

/// How the ends of a column are held, as written.
const ENDS: [(&str, Ends); 4] = [
    ("pinned", Ends::Pinned),
    ("fixed and pinned", Ends::FixedPinned),
    ("fixed", Ends::Fixed),
    ("fixed and free", Ends::FixedFree),
];

fn column(desk: &mut Desk, named: &Named) -> Option<Column> {
    let field = lone(named, &MADE, "column")?;
    let what = format!("the column of {}", named.what());
    let fields = Fields::new(desk, what, &COLUMN, &inner_table(&field))?;
    let ends = match fields.get("ends") {
        None => None,
        Some(f) => {
            let names = ENDS.map(|e| e.0);
            let chosen = f.word(desk, &names)?;
            ENDS.get(chosen).map(|e| e.1)
        }
    };
    let off = fields
        .get("off")
        .map_or(Some(0.0), |f| positive(desk, &f, Measure::Length, true))?;
    let threaded = fields
        .get("threaded")
        .is_some_and(|f| f.truth(desk) == Some(true));
    Some(Column {
        ends,
        off,
        threaded,
    })
}

const STOCK: Shape = Shape {
    a: "stock",
    keys: &[
        ("flat", "flat = [\"6 mm\", \"30 mm\"]"),
        ("round", "round = \"20 mm\""),
        ("square", "square = \"16 mm\""),
        ("hexagon", "hexagon = \"17 mm\""),
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
        ("yields", "yields = \"300 MPa\""),
        ("breaks", "breaks = \"500 MPa\""),
    ],
};

/// Name, Young's modulus MPa, shear modulus MPa, density kg/mm³, source, and the grade whose strength is taken.
const GIVEN: [(&str, f64, f64, f64, &str, &str); 8] = [
    (
        "steel",
        207_000.0,
        79_300.0,
        7.85e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
        "1018 hot rolled",
    ),
    (
        "stainless",
        190_000.0,
        73_100.0,
        7.75e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
        "304 annealed",
    ),
    (
        "cast-iron",
        100_000.0,
        41_400.0,
        7.2e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
        "grey iron class 20",
    ),
    (
        "aluminium",
        71_700.0,
        26_900.0,
        2.8e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
        "6061-T6 minimum",
    ),
    (
        "brass",
        106_000.0,
        40_100.0,
        8.55e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
        "C36000 annealed",
    ),
    (
        "bronze",
        111_000.0,
        41_400.0,
        8.17e-6,
        "Shigley, Mechanical Engineering Design, table of physical constants (from memory)",
        "C93200 bearing bronze",
    ),
    (
        "oak",
        11_000.0,
        700.0,
        0.7e-6,
        "common practice, along the grain",
        "",
    ),
    (
        "acetal",
        3_000.0,
        1_100.0,
        1.41e-6,
        "common practice",
        "acetal",
    ),
];

/// Names of the given materials, which an own one cannot take.
pub(crate) fn given() -> impl Iterator<Item = &'static str> {
    GIVEN.iter().map(|g| g.0)
}

/// The given materials and the file's own, in the order of their names on the desk.
pub(super) fn materials(desk: &mut Desk, named: &[Named]) -> Vec<Option<Material>> {
    let mut all: Vec<Option<Material>> = GIVEN.iter().map(|g| Some(generic(g))).collect();
    all.extend(named.iter().map(|n| material(desk, n)));
    all
}

fn generic(given: &(&str, f64, f64, f64, &'static str, &str)) -> Material {
    let &(name, modulus, shear, density, source, grade) = given;
    let row = materials::MATERIALS.iter().find(|m| m.name == grade);
    Material {
        name: name.to_owned(),
        modulus,
        shear,
        density,
        source,
        poisson: row.map_or(0.3, |r| r.poisson),
        expansion: row.map(|r| r.expansion),
        yields: row.and_then(|r| r.yields),
        tensile: row.map(|r| r.tensile),
        taken_as: row.map(|r| r.name),
        strength_source: row.map(|r| r.source),
    }
}

/// A grade of the table of materials.
fn graded(row: &materials::Material) -> Material {
    Material {
        name: row.name.to_owned(),
        modulus: row.youngs,
        shear: row.shear_modulus(),
        density: row.density,
        source: row.source.text,
        poisson: row.poisson,
        expansion: Some(row.expansion),
        yields: row.yields,
        tensile: Some(row.tensile),
        taken_as: None,
        strength_source: Some(row.source),
    }
}

/// The material that a field names: one of the file, a given one, or a grade of the table, which is added to the list.
pub(super) fn named(
    desk: &mut Desk,
    field: &Field,
    all: &mut Vec<Option<Material>>,
) -> Option<usize> {
    let text = field.text(desk, "a material in quotes")?;
    if desk.find(Kind::Material, text).is_some() {
        return field.name(desk, Kind::Material);
    }
    match materials::find(text) {
        Ok(row) => {
            let known = |m: &Option<Material>| m.as_ref().is_some_and(|m| m.name == row.name);
            if let Some(index) = all.iter().position(known) {
                return Some(index);
            }
            all.push(Some(graded(row)));
            Some(all.len() - 1)
        }
        // Several grades share these words: the builder has to say which.
        Err(ElementError::NotListed {
            what: "single material",
            known,
            ..
        }) => {
            field.bad(
                desk,
                format!(
                    "\"{}\" is not one material: each condition has its own strength",
                    clip(text)
                ),
                format!("write one of {}", known.join(", ")),
            );
            None
        }
        // Another name of what the table has.
        Err(ElementError::NotListed { known, .. }) if known.len() < materials::MATERIALS.len() => {
            field.bad(
                desk,
                format!("there is no material \"{}\"", clip(text)),
                format!("write one of {}", known.join(", ")),
            );
            None
        }
        Err(_) => {
            let grades: Vec<&str> = materials::MATERIALS.iter().map(|m| m.name).collect();
            let near = desk.suggest(text, &grades);
            let Some(near) = near.filter(|_| desk.nearest_of(&[Kind::Material], text).is_none())
            else {
                // A grade by itself is told with its conditions: the first words are enough.
                let mut first: Vec<&str> = Vec::new();
                for word in grades.iter().filter_map(|g| g.split(' ').next()) {
                    if !first.contains(&word) && word.chars().any(|c| c.is_ascii_digit()) {
                        first.push(word);
                    }
                }
                let before = desk.errors();
                let found = field.name(desk, Kind::Material);
                if desk.errors() > before {
                    desk.add_help(&format!("grades: {}", first.join(", ")));
                }
                return found;
            };
            desk.push(
                Diagnostic::error(
                    "unknown-name",
                    format!("there is no material `{}`", clip(text)),
                )
                .at(field.place(), format!("did you mean `{near}`?")),
            );
            None
        }
    }
}

/// The material as it is in stock of this thickness: where the standard divides its strengths by it, the row for it.
fn as_thick(index: usize, thickness: f64, all: &mut Vec<Option<Material>>) -> usize {
    let name = match all.get(index) {
        Some(Some(material)) => material.name.clone(),
        _ => return index,
    };
    let Some(row) = materials::MATERIALS.iter().find(|m| m.name == name) else {
        return index;
    };
    let right = materials::of_thickness(row, thickness);
    if right.name == row.name {
        return index;
    }
    let known = |m: &Option<Material>| m.as_ref().is_some_and(|m| m.name == right.name);
    all.iter().position(known).unwrap_or_else(|| {
        all.push(Some(graded(right)));
        all.len() - 1
    })
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
    let mut strength = |key: &str| {
        fields
            .get(key)
            .map(|f| positive(desk, &f, Measure::Pressure, false))
    };
    let (yields, breaks) = (strength("yields"), strength("breaks"));
    let modulus = modulus?;
    let yields = yields.map_or(Some(None), |y| y.map(Some))?;
    let tensile = breaks.map_or(Some(None), |b| b.map(Some))?;
    // Poisson's ratio 0.3 where nothing else is known.
    let shear = shear.unwrap_or(Some(modulus / 2.6))?;
    Some(Material {
        name: named.entry.name.to_owned(),
        modulus,
        shear,
        density: density?,
        source: "the machine file",
        poisson: (modulus / (2.0 * shear) - 1.0).clamp(0.0, 0.5),
        expansion: None,
        yields,
        tensile,
        taken_as: None,
        strength_source: None,
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
pub(super) fn parts(
    desk: &mut Desk,
    declared: &Declared,
    ground: &Ground,
    all: &mut Vec<Option<Material>>,
) -> Vec<Made> {
    let materials = all;
    let mut all = vec![Made::default()];
    for named in &declared.parts {
        let mut made = made(desk, named, materials);
        made.held_by = lone(named, &MADE, "held-by").and_then(|f| held::held(desk, named, &f));
        weighed(desk, named, ground, all.len(), &mut made);
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

/// Moment of inertia and centre of mass of a part: only of one whose mass is written.
fn weighed(desk: &mut Desk, named: &Named, ground: &Ground, part: usize, made: &mut Made) {
    let (inertia, at) = (lone(named, &MADE, "inertia"), lone(named, &MADE, "mass-at"));
    if made.mass.is_none() && lone(named, &MADE, "mass").is_none() {
        for field in [&inertia, &at].into_iter().flatten() {
            field.bad(
                desk,
                format!(
                    "`{}` without a mass: what comes from stock has its own",
                    field.key
                ),
                "write the part's `mass` beside it, or take it out",
            );
        }
        return;
    }
    made.inertia = inertia.and_then(|f| moment_of_inertia(desk, &f));
    made.mass_at = at.and_then(|f| {
        if f.is_list() {
            return f.lengths(desk);
        }
        let point = f.name(desk, Kind::Point)?;
        if !ground.carries(part, point) {
            let (point, what) = (desk.name(Kind::Point, point), named.what());
            f.bad(
                desk,
                format!("{what} does not carry {point}"),
                "name a point of the part, or write where its centre of mass is drawn: `mass-at = [40, -12]`",
            );
            return None;
        }
        let spot = ground.spots.get(point)?.as_ref()?;
        Some(spot.at)
    });
}

/// kg·mm².
pub(super) fn moment_of_inertia(desk: &mut Desk, field: &Field) -> Option<f64> {
    let text = field.text(desk, "a moment of inertia in quotes")?;
    // lb ft² and lb in²: 0.453 592 37 kg and 25.4 mm exactly.
    let units = [
        ("kg m2", 1e6),
        ("kg m²", 1e6),
        ("kg·m²", 1e6),
        ("kg cm2", 100.0),
        ("kg cm²", 100.0),
        ("kg mm2", 1.0),
        ("kg mm²", 1.0),
        ("kg·mm²", 1.0),
        ("lb in2", 0.453_592_37 * 25.4 * 25.4),
        ("lb ft2", 0.453_592_37 * 304.8 * 304.8),
    ];
    for (unit, factor) in units {
        if let Some(number) = text.trim().strip_suffix(unit)
            && let Ok(x) = number.trim().parse::<f64>()
            && x >= 0.0
            && x.is_finite()
        {
            return Some(x * factor);
        }
    }
    field.bad(
        desk,
        "this is no moment of inertia",
        "write it like \"0.02 kg m2\", \"200 kg cm2\" or \"68 lb in2\"; of a solid disc it is mass × diameter² / 8",
    );
    None
}

/// The plates of the frame.
pub(super) fn frame(
    desk: &mut Desk,
    declared: &Declared,
    materials: &mut Vec<Option<Material>>,
) -> Option<Stock> {
    let entry = declared.frame.as_ref()?;
    let inner = entry
        .node
        .entries()
        .into_iter()
        .find(|e| e.name == "stock")?;
    let field = Field::lone(&MADE, "stock", inner.node)?;
    stock(desk, "the frame", &field, materials)
}

/// One a rod.
pub(super) fn rods(
    desk: &mut Desk,
    declared: &Declared,
    materials: &mut Vec<Option<Material>>,
) -> Vec<Made> {
    let rod = |named: &Named| {
        let mut made = made(desk, named, materials);
        made.ends = lone(named, &MADE, "rod-ends").and_then(|f| held::ends(desk, &f));
        let rated = lone(named, &MADE, "rod-end-load");
        let rated = rated.and_then(|f| positive(desk, &f, Measure::Force, false));
        for end in made.ends.iter_mut().flatten() {
            end.rated = rated;
        }
        made
    };
    declared.rods.iter().map(rod).collect()
}

fn made(desk: &mut Desk, named: &Named, materials: &mut Vec<Option<Material>>) -> Made {
    let stock = lone(named, &MADE, "stock").and_then(|f| stock(desk, &named.what(), &f, materials));
    let mass = lone(named, &MADE, "mass").and_then(|f| positive(desk, &f, Measure::Mass, true));
    let column = column(desk, named);
    let station = lone(named, &MADE, "station").and_then(|f| f.length(desk));
    Made {
        stock,
        mass,
        station,
        column,
        ..Made::default()
    }
}

/// The bar that one size tells.
pub(crate) fn bar(key: &str) -> Option<fn(f64) -> Section> {
    match key {
        "round" => Some(Section::Round),
        "square" => Some(Section::Square),
        "hexagon" => Some(Section::Hexagon),
        _ => None,
    }
}

pub(crate) fn stock(
    desk: &mut Desk,
    what: &str,
    field: &Field,
    materials: &mut Vec<Option<Material>>,
) -> Option<Stock> {
    let what = format!("the stock of {what}");
    let fields = Fields::new(desk, what.clone(), &STOCK, &inner_table(field))?;
    let form = fields.one_of(desk, &["flat", "round", "square", "hexagon", "tube"]);
    let material = match fields.get("material") {
        Some(f) => named(desk, &f, materials),
        None => desk.find(Kind::Material, "steel"),
    };
    let form = form?;
    let section = if let Some(bar) = bar(form.key) {
        bar(form.positive_length(desk)?)
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
    let thickness = match section {
        Section::Flat([a, b]) => a.min(b),
        Section::Round(d) | Section::Square(d) | Section::Hexagon(d) => d,
        Section::Tube([outside, inside]) => 0.5 * (outside - inside),
    };
    Some(Stock {
        section,
        material: as_thick(material?, thickness, materials),
        place: field.place(),
    })
}
