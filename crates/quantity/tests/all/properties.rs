//! Laws that hold for every text and every number.

use crate::laws;
use proptest::prelude::*;
use quantity::{Form, Kind, Unit, nearest_64th, parse, thread};

fn any_unit() -> impl Strategy<Value = Unit> {
    proptest::sample::select(Unit::ALL.to_vec())
}

fn spelling(unit: Unit) -> impl Strategy<Value = &'static str> {
    proptest::sample::select(unit.spellings().collect::<Vec<_>>())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn any_text_is_read_or_refused(text in any::<String>()) {
        laws::hold(&text);
    }

    #[test]
    fn any_text_of_the_shop_is_read_or_refused(text in r#"[-+−±]?[0-9½⅛ ./,'"°#eMx-]{0,12} ?(mm|in|"|'|ft|deg|°|rad|turns?|N·?m|N/mm2?|kN|lbf|rpm|UNC|UNF|LH|µm|F)?"#) {
        laws::hold(&text);
    }

    #[test]
    fn a_decimal_in_any_spelling((unit, spelling) in any_unit().prop_flat_map(|u| (Just(u), spelling(u))), number in r"-?[0-9]{1,6}(\.[0-9]{0,6})?", blank in "[ \u{a0}]?") {
        let text = format!("{number}{blank}{spelling}");
        // A mark alone behind an angle is minutes, and "1in" is not "1 in" spelt wrong.
        let written = parse(&text, unit.kind(), unit.kind().inside()).map_err(|e| TestCaseError::fail(format!("{text}: {e}")))?;
        let x: f64 = number.parse().map_err(|_| TestCaseError::fail("number"))?;
        prop_assert_eq!(written.unit, unit);
        prop_assert_eq!(written.value, unit.to_inside(x) + 0.0);
        laws::hold(&text);
    }

    #[test]
    fn sixty_fourths_are_exact(count in -100_000i32..100_000) {
        let inches = f64::from(count) / 64.0;
        let mm = inches * 127.0 / 5.0;
        let (text, error) = nearest_64th(mm);
        prop_assert!(error.abs() < 1e-12 * mm.abs().max(1.0), "{text}: {error}");
        let written = parse(&text, Kind::Length, Unit::Millimetre).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(written.value, mm + 0.0);
        let (whole, sixty_fourths) = (count / 64, (count % 64).abs());
        let by_hand = if whole == 0 { format!("{count}/64 in") } else { format!("{whole} {sixty_fourths}/64 in") };
        prop_assert_eq!(parse(&by_hand, Kind::Length, Unit::Millimetre).map(|w| w.value), Ok(mm + 0.0));
    }

    #[test]
    fn a_fraction_stays_one_where_it_can(count in 1u32..10_000, other in 1u32..10_000) {
        let written = parse(&format!("{count}/64 in"), Kind::Length, Unit::Millimetre).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let shown = written.show_as(f64::from(other) / 64.0 * 127.0 / 5.0);
        let read = parse(&shown, Kind::Length, Unit::Millimetre).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(read.value, f64::from(other) / 64.0 * 127.0 / 5.0);
        prop_assert!(!shown.contains('.'), "{}", shown);
        prop_assert!(other % 64 == 0 || matches!(read.form, Form::Fraction { .. }), "{}", shown);
    }

    #[test]
    fn degrees_minutes_seconds(degrees in 0u32..720, minutes in 0u32..60, seconds in 0u32..60) {
        let text = format!("{degrees}°{minutes}'{seconds}\"");
        let written = parse(&text, Kind::Angle, Unit::Degree).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let whole = degrees * 3600 + minutes * 60 + seconds;
        prop_assert!((written.value - (f64::from(whole) / 3600.0).to_radians()).abs() < 1e-14 * written.value.max(1.0));
        let other = parse("1°1'1\"", Kind::Angle, Unit::Degree).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(other.show_as(written.value), text);
    }

    #[test]
    fn feet_and_inches(feet in 0u32..1000, count in 0u32..768) {
        let mm = (f64::from(feet) * 12.0 + f64::from(count) / 64.0) * 25.4;
        let written = parse("1' 2\"", Kind::Length, Unit::Millimetre).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let shown = written.show_as(mm);
        let read = parse(&shown, Kind::Length, Unit::Millimetre).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert!((read.value - mm).abs() <= 1e-12 * mm.max(1.0), "{} is {}", shown, read.value);
        let start = format!("{feet}' ");
        prop_assert!(shown.starts_with(&start), "{}", shown);
    }

    #[test]
    fn a_metric_thread_of_any_size(tenths in 10u32..1000, share in 0.05f64..0.29) {
        let major = f64::from(tenths) / 10.0;
        let pitch = (major * share * 100.0).ceil() / 100.0;
        prop_assume!(pitch <= 0.3 * major);
        let thread = thread::parse(&format!("M{major} x {pitch}")).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!((thread.major, thread.pitch, thread.inch), (major, pitch, false));
    }
}
