//! Parts that follow from others: rings that are brazed on, bushings that are pressed in.

use super::grade_named;
use super::joints::of_class;
use crate::part::{Bore, Form, Part, Step, Turned, diameter};
use crate::words;
use machine::equipment::Shop;
use machine::fitting::{Cut, Fitted, Sized};
use machine::work::Section;
use quantity::Unit;
use std::collections::BTreeMap;

/// Pin that centres a ring for brazing, mm.
const PIN: f64 = 6.0;

/// Rings that are brazed on where a hub is longer than its plate.
pub(super) fn rings(all: &mut Vec<Part>, shop: Option<&Shop>, unit: Unit) {
    let pin = pin_drill(shop).1;
    let mut rings: Vec<Part> = Vec::new();
    for part in all.iter() {
        let Form::Plate(p) = &part.form else { continue };
        for end in p.ends.iter().filter(|e| !e.solid) {
            let Some(hub) = end.hub else { continue };
            let hole = p.holes.iter().find(|h| h.at == end.at);
            let d = hole.map_or(0.0, |h| diameter(&h.fitted));
            let length = hub - p.thickness;
            let mut ring = Turned {
                steps: vec![Step {
                    from: 0.0,
                    to: length,
                    diameter: 2.0 * end.radius,
                    class: None,
                    thread: None,
                    relief: false,
                    throw: None,
                    chamfer: 0.5,
                    sides: 0,
                    as_bar: false,
                }],
                ..Turned::default()
            };
            // Left small for the pin that centres it: it is bored with the plate after brazing.
            if d > pin + 1.0
                && let Some(size) = of_class(pin, "H12")
            {
                ring.bores.push(Bore {
                    left: true,
                    fitted: Fitted::Plain {
                        cut: Cut::Drill,
                        size,
                    },
                    blind: None,
                    throw: None,
                });
            }
            // Rings alike of one plate are one part; others of it have their number.
            let own = |r: &&mut Part| r.note == braze_note(&part.name);
            let sized = |r: &Part| match &r.form {
                Form::Turned(t) => Some((t.largest(), t.length(), t.bores.len())),
                Form::Plate(_) => None,
            };
            let size = Some((2.0 * end.radius, length, ring.bores.len()));
            if let Some(alike) = rings.iter_mut().filter(own).find(|r| sized(r) == size) {
                alike.count += part.count;
                continue;
            }
            let name = match rings.iter_mut().filter(own).count() {
                0 => format!("{}-hub", part.name),
                n => format!("{}-hub-{}", part.name, n + 1),
            };
            rings.push(Part {
                name,
                count: part.count,
                note: braze_note(&part.name),
                material: part.material.clone(),
                section: Section::Round(bar_for(2.0 * end.radius, unit)),
                form: Form::Turned(ring),
                assumed: vec![format!(
                    "Its bore takes a pin of {} and is finished after brazing.",
                    if unit == Unit::Inch {
                        words::tool_size(pin, unit)
                    } else {
                        format!("{} mm", words::number(pin, 2))
                    }
                )],
                teeth: None,
                joined: Vec::new(),
            });
        }
    }
    all.extend(rings);
}

/// What a ring says of its plate.
fn braze_note(plate: &str) -> String {
    format!("brazed to {}, bored with it", words::spoken(plate))
}

/// The plate that a ring of this name is brazed to.
pub fn plate_of_ring(name: &str) -> Option<&str> {
    let (plate, rest) = name.rsplit_once("-hub")?;
    let number = rest.strip_prefix('-').map(str::parse::<u32>);
    (rest.is_empty() || matches!(number, Some(Ok(_)))).then_some(plate)
}

/// The drill for the pin that centres a ring: any near six millimetres does.
pub(crate) fn pin_drill(shop: Option<&Shop>) -> (String, f64) {
    let near = shop.and_then(|s| {
        s.tools
            .drills
            .iter()
            .filter(|d| (PIN - 2.0..=PIN + 2.0).contains(&d.diameter))
            .min_by(|a, b| {
                (a.diameter - PIN)
                    .abs()
                    .total_cmp(&(b.diameter - PIN).abs())
            })
    });
    near.map_or_else(
        || (words::number(PIN, 0), PIN),
        |d| (d.name.clone(), d.diameter),
    )
}

/// The bar a turned diameter comes out of.
pub(crate) fn bar_for(diameter: f64, unit: Unit) -> f64 {
    if unit == Unit::Inch {
        let inches = diameter / 25.4;
        let found = elements::stock::smallest(&elements::stock::ROUND_INCH, inches, 0.0);
        return 25.4 * found.ok().flatten().unwrap_or((inches * 2.0).ceil() / 2.0);
    }
    let found = elements::stock::smallest(&elements::stock::ROUND_METRIC, diameter, 0.0);
    found
        .ok()
        .flatten()
        .unwrap_or((diameter / 10.0).ceil() * 10.0)
}

/// Name of the bushing that is turned with these sizes, mm, by its sizes in this unit.
pub fn bushing_name(bore: f64, outside: f64, length: f64, unit: Unit) -> String {
    let places = if unit == Unit::Inch { 3 } else { 2 };
    let one = |x: f64| words::number(unit.from_inside(x), places);
    let [bore, outside, length] = [bore, outside, length].map(one);
    format!("bushing-{bore}-{outside}-{length}").replace('.', "_")
}

/// Pressed-in bushings of a material that is turned here.
pub(super) fn bushings(all: &mut Vec<Part>, shop: Option<&Shop>, unit: Unit, dials: Unit) {
    let mut kinds: BTreeMap<String, (usize, Turned, String, [f64; 2])> = BTreeMap::new();
    for part in all.iter() {
        let Form::Plate(p) = &part.form else { continue };
        for h in &p.holes {
            let Fitted::Bushing {
                material,
                bore,
                outside: Some((outside, _)),
            } = &h.fitted
            else {
                continue;
            };
            let Some(grade) = grade(material.name) else {
                continue;
            };
            let length = h.blind.unwrap_or(h.through);
            let name = bushing_name(bore.nominal, outside.nominal, length, unit);
            let step = Step {
                from: 0.0,
                to: length,
                diameter: outside.nominal,
                class: Some(outside.clone()),
                thread: None,
                relief: false,
                throw: None,
                chamfer: 0.8,
                sides: 0,
                as_bar: false,
            };
            let turned = Turned {
                steps: vec![step],
                bores: vec![Bore {
                    left: false,
                    fitted: Fitted::Plain {
                        cut: Cut::Bore,
                        size: under(bore, shop),
                    },
                    blind: None,
                    throw: None,
                }],
                ..Turned::default()
            };
            let entry = kinds.entry(format!("{name} {grade}")).or_insert((
                0,
                turned,
                grade.to_owned(),
                [bore.nominal, outside.nominal],
            ));
            entry.0 += part.count;
        }
    }
    for (key, (count, turned, grade, [bore, outside])) in kinds {
        let name = key.split(' ').next().unwrap_or(&key).to_owned();
        let left = in_place(bore, shop);
        all.push(Part {
            name,
            count,
            note: if left {
                "bored under size: pressed in, then bored in its place".to_owned()
            } else {
                "pressed in; the bore closes a little and is reamed then".to_owned()
            },
            material: grade_named(&grade),
            section: Section::Round(bar_for(outside + 1.0, dials)),
            form: Form::Turned(turned),
            assumed: Vec::new(),
            teeth: None,
            joined: Vec::new(),
        });
    }
}

/// What is left in a bushing that is bored in its place, mm on diameter (common practice).
const LEFT: f64 = 0.3;

/// Whether a pressed bushing is bored in its place: no reamer of its bore is here to open what closed, and a boring tool goes in.
pub(crate) fn in_place(bore: f64, shop: Option<&Shop>) -> bool {
    shop.is_some_and(|s| {
        let reamed = s
            .tools
            .reamers
            .iter()
            .any(|r| (r.nominal - bore).abs() < 1e-6);
        let reach = [
            s.tools.boring_head.filter(|_| !s.mills.is_empty()),
            s.tools.boring.filter(|_| !s.lathes.is_empty()),
        ];
        let goes = |r: &[f64; 2]| (r[0]..=r[1]).contains(&bore);
        !reamed && reach.iter().flatten().any(goes)
    })
}

/// The bore that a bushing is turned with.
fn under(bore: &Sized, shop: Option<&Shop>) -> Sized {
    let roughed = in_place(bore.nominal, shop)
        .then(|| of_class(bore.nominal - LEFT, "H11"))
        .flatten();
    roughed.unwrap_or_else(|| bore.clone())
}

/// Whether bushings of a material are turned here.
pub(crate) fn turned_here(bushing: &str) -> bool {
    grade(bushing).is_some()
}

/// The bar that a bushing material is turned from; none for those that are bought.
fn grade(bushing: &str) -> Option<&'static str> {
    match bushing {
        "cast bronze" => Some("C93200 bearing bronze"),
        "acetal" => Some("acetal"),
        "nylon" => Some("nylon 6/6"),
        _ => None,
    }
}
