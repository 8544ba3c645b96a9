//! What must hold for every text whatever. Shared by the property tests, the replay of the corpus and the fuzz target.

use quantity::{Kind, QuantityError, Unit, Written, number, parse, thread};

/// Reads the text as every kind and as a thread.
///
/// # Panics
/// When a law is broken.
pub(crate) fn hold(text: &str) {
    for kind in Kind::ALL {
        for bare in [kind.inside(), other_unit(kind)] {
            match parse(text, kind, bare) {
                Ok(written) => reads_back(text, &written, kind, bare),
                Err(error) => points_inside(text, &error),
            }
        }
    }
    match thread::parse(text) {
        Ok(thread) => {
            assert!(thread.major.is_finite() && thread.major > 0.0, "{text:?}");
            assert!(
                thread.pitch > 0.0 && thread.pitch < thread.major,
                "{text:?}"
            );
            assert_eq!(
                thread::parse(&thread.name).as_ref(),
                Ok(&thread),
                "{text:?}"
            );
        }
        Err(error) => points_inside(text, &error),
    }
}

fn other_unit(kind: Kind) -> Unit {
    kind.units().last().unwrap_or(Unit::One)
}

fn points_inside(text: &str, error: &QuantityError) {
    assert!(error.start <= error.end, "{text:?}: {error:?}");
    assert!(
        text.get(error.start..error.end).is_some(),
        "{text:?}: {error:?}"
    );
    assert!(
        error.start < error.end || text.is_empty(),
        "{text:?}: {error:?}"
    );
    assert!(
        !error.message.is_empty() && !error.help.is_empty(),
        "{text:?}: {error:?}"
    );
    let said = error.to_string();
    assert!(said.chars().count() < 400, "{text:?}: {said}");
    assert!(!said.contains(char::is_control), "{text:?}: {said}");
}

fn reads_back(text: &str, written: &Written, kind: Kind, bare: Unit) {
    assert!(written.value.is_finite(), "{text:?}");
    assert!(
        written.value != 0.0 || written.value.is_sign_positive(),
        "{text:?}"
    );
    assert_eq!(written.kind(), kind, "{text:?}");
    assert_eq!(written.show(), text.trim());
    assert_eq!(
        parse(written.show(), kind, bare).as_ref(),
        Ok(written),
        "{text:?}"
    );
    assert_eq!(written.show_as(written.value), text.trim());

    let value = written.value;
    for other in [
        value * 1.5,
        -value,
        value + 1.0,
        value / 3.0,
        0.0,
        1e-9,
        1_234.567_8,
    ] {
        manner_reads_back(written, other, kind, bare);
    }
    let shown = quantity::show(value, written.unit, 17);
    let read = parse(&shown, kind, bare).expect("a printed value is read");
    assert!(same(read.value, value), "{text:?} shows {shown}");

    let inside = written.unit.from_inside(value);
    if inside.is_finite() {
        let bare_number = number(inside, kind, written.unit).expect("a finite number is read");
        assert!(same(bare_number.value, value), "{text:?} as {inside}");
    }
}

fn manner_reads_back(written: &Written, other: f64, kind: Kind, bare: Unit) {
    if !other.is_finite() || !written.unit.from_inside(other).is_finite() {
        return;
    }
    let shown = written.show_as(other);
    let read = parse(&shown, kind, bare);
    let read =
        read.unwrap_or_else(|e| panic!("{:?} as {other} shows {shown:?}: {e}", written.text));
    assert!(
        same(read.value, other),
        "{:?} as {other} shows {shown:?}, which reads {}",
        written.text,
        read.value
    );
}

/// Equal but for rounding in the last places.
fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 4e-12 * a.abs().max(b.abs()).max(1.0)
}
