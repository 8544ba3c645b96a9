//! How far a drive goes, and why no further.

use quantity::Unit;
use studies::{End, EndKind, Reach};

use super::numbers::with_unit;

/// Marks of ends that are more than the end of a range.
pub(crate) fn mark(kind: EndKind) -> Option<&'static str> {
    match kind {
        EndKind::DeadCentre | EndKind::Locked => Some("x"),
        EndKind::Stop | EndKind::SlotEnd => Some("|"),
        EndKind::ChangePoint => Some("+"),
        EndKind::Lost => Some("?"),
        EndKind::Range | EndKind::WholeTurn | EndKind::Open => None,
    }
}

/// Why it ends there, in a few words.
pub(crate) fn why(end: &End) -> String {
    let kind = match end.kind {
        EndKind::Range => "end of its range",
        EndKind::WholeTurn => "a whole turn",
        EndKind::DeadCentre => "dead centre",
        EndKind::Stop => "stop",
        EndKind::SlotEnd => "end of the slot",
        EndKind::ChangePoint => "change point",
        EndKind::Locked => "it cannot move",
        EndKind::Lost => "it cannot be followed further",
        EndKind::Open => "nothing in the way",
    };
    match end.cause.as_str() {
        "" => kind.to_owned(),
        // Some causes say all there is: "stop lever-end".
        cause if cause.starts_with(kind) => cause.to_owned(),
        cause => format!("{kind}: {cause}"),
    }
}

/// An end and why it is there: `27.50 deg (dead centre: rod front and knee stand in line)`.
pub(crate) fn place(end: &End, unit: Unit) -> String {
    match end.kind {
        EndKind::Open => String::from("as far as it is pushed"),
        _ => format!("{} ({})", with_unit(end.at, unit), why(end)),
    }
}

/// Both ends.
pub(crate) fn words(reach: &Reach, unit: Unit) -> String {
    let (low, high) = (&reach.low, &reach.high);
    if reach.whole_turn {
        return String::from("round and round");
    }
    if low.kind == EndKind::Range && high.kind == EndKind::Range {
        let (low, high) = (with_unit(low.at, unit), with_unit(high.at, unit));
        return format!("{low} to {high}, its whole range");
    }
    if low.kind == EndKind::Locked {
        return format!("{} and no further ({})", with_unit(low.at, unit), why(low));
    }
    if low.kind == EndKind::Open && high.kind == EndKind::Open {
        return String::from("as far as it is pushed, either way");
    }
    format!("{} to {}", place(low, unit), place(high, unit))
}
