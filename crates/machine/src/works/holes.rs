//! Holes of parts and frame: plain, tapped, with a bearing or a bushing.

use super::sizes::{Without, of_class, sized};
use crate::declared::{Declared, Named};
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape, Value};
use crate::fitting::{Cut, Fitted, Hole};
use crate::ground::Ground;
use crate::model::{FRAME, PartId};
use crate::words::{clip, list};
use elements::bearings::play::Group;
use elements::bearings::{self, plain};
use elements::fits_iso::Side;

const HOLE: Shape = Shape {
    a: "a hole",
    keys: &[
        ("ream", "ream = \"8 H7\""),
        ("bore", "bore = \"12 H7\""),
        ("drill", "drill = \"8.4 mm\""),
        ("tap", "tap = \"M8\""),
        ("bearing", "bearing = \"6001\""),
        ("bushing", "bushing = \"cast bronze\""),
        ("hub", "hub = \"N7\""),
        ("outside", "outside = \"16 s6\""),
        ("depth", "depth = \"12 mm\""),
        ("length", "length = \"20 mm\""),
        ("around", "around = \"40 mm\""),
        ("counterbore", "counterbore = [\"11 mm\", \"6.5 mm\"]"),
        ("countersink", "countersink = \"12 mm\""),
    ],
};

/// How a bearing sits in its hub, in words and as the class that is meant.
const SEATS: [(&str, &str); 3] = [("slide", "H7"), ("push", "J7"), ("press", "N7")];

/// The holes of the frame and of all parts.
pub(super) fn holes(desk: &mut Desk, declared: &Declared, ground: &Ground) -> Vec<Hole> {
    let mut all = Vec::new();
    if let Some(frame) = &declared.frame {
        of_part(desk, frame, FRAME, "the frame", ground, &mut all);
    }
    for (index, named) in declared.parts.iter().enumerate() {
        let Named { entry, .. } = named;
        of_part(desk, entry, index + 1, &named.what(), ground, &mut all);
    }
    all
}

fn of_part(
    desk: &mut Desk,
    entry: &Entry,
    part: PartId,
    what: &str,
    ground: &Ground,
    all: &mut Vec<Hole>,
) {
    let Some(holes) = entry.node.entries().into_iter().find(|e| e.name == "hole") else {
        return;
    };
    let Value::Table(_) = holes.node.value else {
        desk.push(
            Diagnostic::error(
                "wrong-type",
                format!("`hole` of {what} is {}, not a table", holes.node.words()),
            )
            .at(holes.node.place, "")
            .help("name the point: `hole.lever-pin = { ream = \"8 H7\" }`"),
        );
        return;
    };
    for inner in holes.node.entries() {
        // `hole = { ream = ... }` forgot the point.
        let point = desk.find(Kind::Point, inner.name).is_some()
            && matches!(inner.node.value, Value::Table(_));
        if !point && HOLE.keys.iter().any(|(key, _)| *key == inner.name) {
            desk.push(
                Diagnostic::error(
                    "missing-key",
                    format!("a hole of {what} does not say at which point"),
                )
                .at(inner.place, "")
                .help("name the point: `hole.lever-pin = { ream = \"8 H7\" }`"),
            );
            return;
        }
        let Some(point) = desk.resolve(Kind::Point, inner.name, inner.place) else {
            continue;
        };
        let carried = ground
            .part(part)
            .is_some_and(|p| p.carries.contains(&point));
        if !carried && ground.whole {
            let name = desk.name(Kind::Point, point);
            desk.push(
                Diagnostic::error(
                    "not-carried",
                    format!("{what} has a hole at {name}, which it does not carry"),
                )
                .at(inner.place, "")
                .help(format!(
                    "add \"{name}\" to its `carries`, or name a point that it carries"
                )),
            );
            continue;
        }
        let what = format!("the hole {} of {what}", clip(inner.name));
        let Some(fields) = Fields::new(desk, what, &HOLE, &inner) else {
            continue;
        };
        let length = fields.get("length").map(|f| f.positive_length(desk));
        let around = fields.get("around").map(|f| f.positive_length(desk));
        let fitted = fitted(desk, &fields);
        let heads = fitted.as_ref().and_then(|f| heads(desk, &fields, f));
        if let (Some(fitted), None | Some(Some(_)), None | Some(Some(_))) = (fitted, length, around)
        {
            all.push(Hole {
                part,
                point,
                fitted,
                length: length.flatten(),
                around: around.flatten(),
                counterbore: heads.and_then(|h| h.0),
                countersink: heads.and_then(|h| h.1),
                place: inner.place,
            });
        }
    }
}

/// Diameter and depth of a counterbore, diameter of a countersink.
pub(crate) type Heads = (Option<[f64; 2]>, Option<f64>);

/// Room for a screw's head at a hole: larger than the hole, and one of the two.
pub(crate) fn heads(desk: &mut Desk, fields: &Fields, fitted: &Fitted) -> Option<Heads> {
    let hole = fitted.across();
    let counterbore = match fields.get("counterbore") {
        None => None,
        Some(f) => {
            let [d, depth] = f.pair(desk, "diameter and depth")?;
            let (wide, depth) = (d.positive_length(desk), depth.positive_length(desk));
            let wide = wide?;
            if wide <= hole + 1e-9 {
                let text = format!(
                    "a counterbore of {} in a hole of {} cuts nothing",
                    desk.show(wide),
                    desk.show(hole)
                );
                d.bad(
                    desk,
                    text,
                    "write diameter and depth of the head's room: `counterbore = [\"11 mm\", \"6.5 mm\"]`",
                );
                return None;
            }
            Some([wide, depth?])
        }
    };
    let countersink = match fields.get("countersink") {
        None => None,
        Some(f) => {
            let d = f.positive_length(desk)?;
            if d <= hole + 1e-9 {
                let text = format!(
                    "a countersink of {} in a hole of {} cuts nothing",
                    desk.show(d),
                    desk.show(hole)
                );
                f.bad(
                    desk,
                    text,
                    "write the diameter of its mouth: that of the screw's head and a little more",
                );
                return None;
            }
            if counterbore.is_some() {
                f.bad(
                    desk,
                    "this hole has both a counterbore and a countersink: a screw has one head",
                    "take one of them out",
                );
                return None;
            }
            Some(d)
        }
    };
    Some((counterbore, countersink))
}

/// What is made at a hole, from a table that has the keys of a hole among its own.
pub(crate) fn fitted(desk: &mut Desk, fields: &Fields) -> Option<Fitted> {
    // A bushing has a bore of its own.
    let bushed = fields.get("bushing");
    let form = match bushed {
        Some(f) => f,
        None => fields.one_of(
            desk,
            &["ream", "bore", "drill", "tap", "bearing", "bushing"],
        )?,
    };
    if form.key != "bearing" && form.key != "bushing" {
        fields.only_with(desk, &["hub"], "`bearing` or `bushing`");
    }
    if form.key != "bushing" {
        fields.only_with(desk, &["outside"], "`bushing`");
    }
    if form.key != "tap"
        && let Some(f) = fields.get("depth")
    {
        desk.push(
            Diagnostic::error(
                "two-forms",
                "`depth` is how deep a thread goes; it only goes with `tap`",
            )
            .at(f.node.place, "")
            .help("write `length = \"9 mm\"` for a hole that does not go through"),
        );
    }
    let plain = |desk: &mut Desk, cut: Cut, without: &Without| {
        sized(desk, &form, Side::Hole, without).map(|size| Fitted::Plain { cut, size })
    };
    match form.key {
        "ream" => plain(desk, Cut::Ream, &Without::Usual("H7")),
        "drill" => plain(desk, Cut::Drill, &Without::Usual("H12")),
        "bore" => plain(desk, Cut::Bore, &Without::Needed("bore = \"12 H7\"")),
        "tap" => {
            let text = form.text(desk, "a thread in quotes")?;
            let depth = fields.get("depth").map(|f| f.positive_length(desk));
            let thread = quantity::thread::parse(text)
                .map_err(|error| form.misread(desk, &error))
                .ok()?;
            Some(Fitted::Tapped {
                thread,
                depth: depth.map_or(Some(None), |d| d.map(Some))?,
            })
        }
        "bearing" => bearing(desk, fields, &form),
        _ => bushing(desk, fields, &form),
    }
}

/// Splits `6001-2RS C3` into bearing and clearance group.
fn group(text: &str) -> (&str, Group) {
    let groups = [
        ("C2", Group::C2),
        ("C3", Group::C3),
        ("C4", Group::C4),
        ("CN", Group::Normal),
    ];
    for (mark, group) in groups {
        if let Some(front) = text.trim_end().strip_suffix(mark)
            && let Some(front) = front.strip_suffix([' ', '/', '-'])
        {
            return (front.trim_end(), group);
        }
    }
    (text, Group::Normal)
}

fn bearing(desk: &mut Desk, fields: &Fields, form: &Field) -> Option<Fitted> {
    let text = form.text(desk, "a bearing in quotes");
    let hub = fields.need(desk, "hub");
    let text = text?;
    let (name, group) = group(text);
    let found = match bearings::find(name) {
        Ok(found) => found,
        Err(error) => {
            let help = match error {
                elements::ElementError::NotListed { known, .. } if !known.is_empty() => {
                    format!("of this series the table has {}", few(&known))
                }
                _ => "it has the series 60, 62, 63, 68, 69, 70 with their small ones (608, 625) and inch R".to_owned(),
            };
            form.bad(
                desk,
                format!("there is no bearing \"{}\" in the table", clip(name)),
                help,
            );
            return None;
        }
    };
    let hub = hub?;
    let text_of_hub = hub.text(desk, "a fit in quotes")?;
    let class = SEATS
        .iter()
        .find(|(word, _)| *word == text_of_hub.trim())
        .map_or(text_of_hub.trim(), |(_, class)| class);
    if !class.chars().any(|c| c.is_ascii_digit()) {
        let words: Vec<String> = SEATS
            .iter()
            .map(|(w, c)| format!("\"{w}\" ({c})"))
            .collect();
        hub.bad(
            desk,
            format!("`hub` cannot be \"{}\"", clip(text_of_hub)),
            format!("write {}, or a class such as \"M7\"", list(&words, "or")),
        );
        return None;
    }
    let hub = of_class(desk, &hub, found.bearing.outside, class, Side::Hole, false)?;
    Some(Fitted::Bearing {
        name: text.trim().to_owned(),
        bearing: found.bearing,
        closed: found.closed,
        group,
        hub,
    })
}

/// So many of a list as a sentence bears.
fn few(known: &[String]) -> String {
    const MOST: usize = 12;
    let shown: Vec<&str> = known.iter().take(MOST).map(String::as_str).collect();
    let more = if known.len() > MOST { ", ..." } else { "" };
    format!("{}{more}", shown.join(", "))
}

fn bushing(desk: &mut Desk, fields: &Fields, form: &Field) -> Option<Fitted> {
    let text = form.text(desk, "a bushing material in quotes");
    let bore = fields
        .need(desk, "bore")
        .and_then(|f| sized(desk, &f, Side::Hole, &Without::Usual("H7")));
    let outside = fields
        .get("outside")
        .map(|f| (f, sized(desk, &f, Side::Shaft, &Without::Usual("s6"))));
    fields.only_with(
        desk,
        &["ream", "drill", "tap", "bearing"],
        "a hole without a bushing",
    );
    let hub = fields.get("hub");
    if outside.is_none() {
        fields.only_with(desk, &["hub"], "`outside`");
    }
    let text = text?;
    let Some(material) = plain::MATERIALS.iter().find(|m| m.name == text.trim()) else {
        let names: Vec<&str> = plain::MATERIALS.iter().map(|m| m.name).collect();
        let near = desk.suggest(text, &names);
        let label = near.map_or_else(String::new, |m| format!("did you mean \"{m}\"?"));
        desk.push(
            Diagnostic::error(
                "unknown-word",
                format!("no bushing is made of \"{}\"", clip(text)),
            )
            .at(form.place(), label)
            .help(format!("write {}", list(&names, "or"))),
        );
        return None;
    };
    let bore = bore?;
    let outside = match outside {
        None => None,
        Some((field, outside)) => {
            let outside = outside?;
            if outside.nominal <= bore.nominal {
                field.bad(
                    desk,
                    "the bushing has no wall: its outside is no larger than its bore",
                    "the outside comes first in size; two to three millimetres of wall are usual",
                );
                return None;
            }
            let class = match hub {
                Some(f) => f.text(desk, "a class in quotes")?.trim(),
                None => "H7",
            };
            let at = hub.unwrap_or(field);
            let seat = of_class(desk, &at, outside.nominal, class, Side::Hole, hub.is_none())?;
            Some((outside, seat))
        }
    };
    Some(Fitted::Bushing {
        material,
        bore,
        outside,
    })
}
