//! Holes as cutting data: what may be cut or drilled as it stands, what is only begun there, and what must not go through.

use super::plate::callout;
use crate::dxf::Dxf;
use machine::equipment::Shop;
use machine::fitting::{Cut, Fitted};
use quantity::Unit;
use shop::letters::names;
use shop::part::{Hole, Opening as _, Plate, Slot, cut};
use shop::{tap_drill, words};

/// Layers of holes and pockets with their colours.
pub(super) const LAYERS: [(&str, u8); 7] = [
    ("DRILL", 1),
    ("FIT", 2),
    ("BLIND", 30),
    ("BACK", 140),
    ("THREAD", 4),
    ("SINK", 6),
    ("POCKET", 5),
];

/// What a drill leaves: the tap drill of a thread, else the size of the drawing.
pub(super) fn drilled(h: &Hole, shop: Option<&Shop>) -> f64 {
    match &h.fitted {
        Fitted::Tapped { thread, .. } => tap_drill::for_thread(thread, shop).diameter,
        _ => h.diameter(),
    }
}

/// The layer of a hole: drilled through as it stands, to be finished to its fit, or not through.
pub(super) fn layer(h: &Hole) -> &'static str {
    if h.back && h.blind.is_some() {
        return "BACK";
    }
    if h.blind.is_some() {
        return "BLIND";
    }
    match cut(&h.fitted) {
        None | Some(Cut::Drill) => "DRILL",
        Some(Cut::Ream | Cut::Bore) => "FIT",
    }
}

/// The layer of a slot: cut as it stands, to be finished to its fit, or not through.
pub(super) fn slot_layer(s: &Slot) -> &'static str {
    match (s.depth, &s.class) {
        (Some(_), _) => "POCKET",
        (None, Some(_)) => "FIT",
        (None, None) => "CUT",
    }
}

/// Class and limits, mm.
pub(super) fn limits_of(size: &machine::fitting::Sized) -> String {
    words::limits(size, Unit::Millimetre)
}

/// Circles of all holes, with their letters.
pub(super) fn circles(d: &mut Dxf, p: &Plate, shop: Option<&Shop>) {
    for (h, name) in p.holes.iter().zip(names(p)) {
        let [x, y] = h.at;
        d.circle(layer(h), h.at, drilled(h, shop) / 2.0);
        if matches!(h.fitted, Fitted::Tapped { .. }) {
            d.circle("THREAD", h.at, h.diameter() / 2.0);
        }
        for wide in h.counterbore.map(|c| c[0]).into_iter().chain(h.countersink) {
            d.circle("SINK", h.at, wide / 2.0);
        }
        d.line("MARK", [x - 1.0, y], [x + 1.0, y]);
        d.line("MARK", [x, y - 1.0], [x, y + 1.0]);
        d.text("MARK", [x, y + h.diameter() / 2.0 + 1.0], 2.5, 0.0, &name);
    }
}

/// One line a kind of hole, and what the layers are.
pub(super) fn notes(p: &Plate, shop: Option<&Shop>) -> Vec<String> {
    let mut kinds: Vec<(String, Vec<String>)> = Vec::new();
    for (h, name) in p.holes.iter().zip(names(p)) {
        let mut text = callout(h, Unit::Millimetre);
        if let Fitted::Tapped { thread, .. } = &h.fitted {
            let drill = tap_drill::for_thread(thread, shop);
            text = format!(
                "{text}: drill {}, then tap",
                words::number(drill.diameter, 3)
            );
        } else if layer(h) == "FIT" {
            text += ": bore or ream to size, cut it under size";
        }
        match kinds.iter_mut().find(|k| k.0 == text) {
            Some(kind) => kind.1.push(name),
            None => kinds.push((text, vec![name])),
        }
    }
    let mut all: Vec<String> = kinds
        .into_iter()
        .map(|(text, names)| format!("{}: {text}", names.join(" ")))
        .collect();
    for s in &p.slots {
        if let (None, Some(class)) = (s.depth, &s.class) {
            all.push(format!(
                "slot {}: {} wide to size, cut it under size (layer FIT)",
                words::spoken(&s.name),
                limits_of(class)
            ));
        }
        if let Some(deep) = s.depth {
            all.push(format!(
                "slot {}: {} deep, not through (layer POCKET)",
                words::spoken(&s.name),
                words::number(deep, 3)
            ));
        }
    }
    for e in &p.edge_holes {
        all.push(format!(
            "from the edge, not in the layers: {} {}, {} deep",
            words::spoken(&e.name),
            words::hole(&e.fitted, Unit::Millimetre),
            words::number(e.depth, 3)
        ));
    }
    all
}
