//! What holds an arm on its shaft, and the rod ends of rods.

use super::inner_table;
use crate::declared::Named;
use crate::desk::Desk;
use crate::fields::{Field, Fields, Shape};
use crate::fitting::{End, HeldBy, Hold, Key};
use crate::words::clip;
use elements::bearings::rod_ends;
use elements::threads::holding::Point;
use elements::threads::preload;
use elements::{fits_inch, fits_iso, keys};

const HELD: Shape = Shape {
    a: "what holds an arm",
    keys: &[
        ("set-screw", "set-screw = \"M6\""),
        ("key", "key = \"parallel\""),
        ("pin", "pin = \"5 mm\""),
        ("pinch-screw", "pinch-screw = \"M6\""),
        ("press", "press = \"H7/s6\""),
        ("weld", "weld = \"5 mm\""),
        ("braze", "braze = true"),
        ("count", "count = 2"),
        ("point", "point = \"cup\""),
        ("class", "class = \"8.8\""),
        ("hub", "hub = \"35 mm\""),
        ("length", "length = \"20 mm\""),
    ],
};

const POINTS: [(&str, Point); 5] = [
    ("cup", Point::Cup),
    ("cone", Point::Cone),
    ("flat", Point::FlatOrDog),
    ("dog", Point::FlatOrDog),
    ("oval", Point::Oval),
];

/// Reads `held-by` of a part.
pub(super) fn held(desk: &mut Desk, named: &Named, field: &Field) -> Option<Hold> {
    let what = format!("what holds {}", named.what());
    let clamped = named
        .entry
        .node
        .entries()
        .iter()
        .any(|e| e.name == "clamped-to");
    if !clamped {
        field.bad(
            desk,
            format!(
                "{} is clamped to nothing that it could be held on",
                named.what()
            ),
            "`held-by` goes with `clamped-to`, the shaft it sits on",
        );
        return None;
    }
    let fields = Fields::new(desk, what, &HELD, &inner_table(field))?;
    let forms = [
        "set-screw",
        "key",
        "pin",
        "pinch-screw",
        "press",
        "weld",
        "braze",
    ];
    let form = fields.one_of(desk, &forms);
    let hub = fields.get("hub").map(|f| f.positive_length(desk));
    let length = fields.get("length").map(|f| f.positive_length(desk));
    let form = form?;
    if !matches!(form.key, "set-screw" | "pinch-screw") {
        fields.only_with(desk, &["count"], "`set-screw` or `pinch-screw`");
    }
    if form.key != "set-screw" {
        fields.only_with(desk, &["point"], "`set-screw`");
    }
    if form.key != "pinch-screw" {
        fields.only_with(desk, &["class"], "`pinch-screw`");
    }
    let by = by(desk, &fields, &form);
    Some(Hold {
        by: by?,
        hub: hub.map_or(Some(None), |h| h.map(Some))?,
        length: length.map_or(Some(None), |l| l.map(Some))?,
        place: field.place(),
    })
}

fn thread(desk: &mut Desk, field: &Field) -> Option<quantity::Thread> {
    let text = field.text(desk, "a thread in quotes")?;
    quantity::thread::parse(text)
        .map_err(|error| field.misread(desk, &error))
        .ok()
}

fn by(desk: &mut Desk, fields: &Fields, form: &Field) -> Option<HeldBy> {
    let count = |desk: &mut Desk| match fields.get("count") {
        None => Some(1),
        Some(f) => f.whole(desk, 1, 6).and_then(|n| u32::try_from(n).ok()),
    };
    match form.key {
        "set-screw" => {
            let thread = thread(desk, form);
            let count = count(desk);
            let point = match fields.get("point") {
                None => Some(Point::Cup),
                Some(f) => f
                    .word(desk, &POINTS.map(|(word, _)| word))
                    .and_then(|n| POINTS.get(n))
                    .map(|(_, p)| *p),
            };
            Some(HeldBy::SetScrew {
                thread: thread?,
                count: count?,
                point: point?,
            })
        }
        "pinch-screw" => {
            let thread = thread(desk, form);
            let count = count(desk);
            let class = match fields.get("class") {
                None => Some("8.8".to_owned()),
                Some(f) => {
                    let text = f.text(desk, "a property class in quotes")?;
                    match preload::find(text, thread.as_ref().map_or(6.0, |t| t.major)) {
                        Ok(class) => Some(class.name.to_owned()),
                        Err(error) => {
                            f.bad(
                                desk,
                                error.to_string(),
                                "write it as stamped on the head: \"8.8\", \"12.9\", \"grade 5\"",
                            );
                            None
                        }
                    }
                }
            };
            Some(HeldBy::Pinch {
                thread: thread?,
                count: count?,
                class: class?,
            })
        }
        "key" => key(desk, form).map(HeldBy::Key),
        "pin" => form
            .positive_length(desk)
            .map(|diameter| HeldBy::Pin { diameter }),
        "press" => {
            let text = form.text(desk, "a fit in quotes")?.trim();
            // Any size will do to see whether there is such a fit.
            let found = if text.contains('/') {
                fits_iso::fit(text, 20.0)
            } else {
                fits_inch::fit(text, 25.4)
            };
            if let Err(error) = found {
                form.bad(
                    desk,
                    error.to_string(),
                    "write hole and shaft, as in \"H7/s6\", or an inch class, as in \"FN2\"",
                );
                return None;
            }
            Some(HeldBy::Press {
                fit: text.to_owned(),
            })
        }
        "weld" => form.positive_length(desk).map(|leg| HeldBy::Weld { leg }),
        _ => {
            if form.truth(desk)? {
                return Some(HeldBy::Braze);
            }
            form.bad(
                desk,
                "an arm that is not brazed is held by something else",
                "write `set-screw`, `key`, `pin`, `pinch-screw`, `press` or `weld`",
            );
            None
        }
    }
}

fn key(desk: &mut Desk, form: &Field) -> Option<Key> {
    let text = form.text(desk, "a key in quotes")?.trim();
    match text {
        "parallel" => return Some(Key::Parallel { inch: false }),
        "square" => return Some(Key::Parallel { inch: true }),
        _ => {}
    }
    let number = text.strip_prefix("woodruff").map(str::trim);
    if let Some(row) = number.and_then(keys::woodruff_metric) {
        return Some(Key::WoodruffMetric(row));
    }
    match number.and_then(|n| n.parse::<u32>().ok()) {
        Some(n) => match keys::woodruff(n) {
            Ok(_) => Some(Key::Woodruff(n)),
            Err(_) => {
                form.bad(
                    desk,
                    format!("there is no Woodruff key {n}"),
                    "common ones are 404, 505, 606, 808",
                );
                None
            }
        },
        None => {
            form.bad(
                desk,
                format!("`key` cannot be \"{}\"", clip(text)),
                "write \"parallel\" (metric), \"square\" (inch), \"woodruff 606\" or \"woodruff 5x6.5x16\"",
            );
            None
        }
    }
}

/// Reads `rod-ends`: one text for both, or two.
pub(super) fn ends(desk: &mut Desk, field: &Field) -> Option<[End; 2]> {
    if field.is_list() {
        let [a, b] = field.pair(desk, "two rod ends")?;
        let (a, b) = (end(desk, &a), end(desk, &b));
        return Some([a?, b?]);
    }
    let both = end(desk, field)?;
    Some([both, both])
}

fn end(desk: &mut Desk, field: &Field) -> Option<End> {
    let text = field.text(desk, "a rod end in quotes")?.trim();
    let (size, sex) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
    let male = match sex.trim() {
        "male" => true,
        "female" => false,
        _ => {
            field.bad(
                desk,
                format!(
                    "\"{}\" does not say whether the rod end has a stem",
                    clip(text)
                ),
                "write \"M8 male\" (threaded stem) or \"M8 female\" (tapped shank)",
            );
            return None;
        }
    };
    match rod_ends::find(size) {
        Ok(rod_end) if male && rod_end.male.is_none() => {
            field.bad(
                desk,
                format!("the table has no {size} with a stem"),
                "take one with a tapped shank",
            );
            None
        }
        Ok(rod_end) => Some(End {
            rod_end,
            male,
            rated: None,
        }),
        Err(error) => {
            field.bad(
                desk,
                error.to_string(),
                "write its thread: \"M8 female\", \"1/4-28 male\"",
            );
            None
        }
    }
}
