//! What is written in the shop, what it is, and how another value is written in the same manner.

use std::f64::consts::{PI, TAU};

use quantity::{Angle, Force, Form, Kind, Length, Turning, Unit, Written, number, parse, thread};

fn read(text: &str, kind: Kind) -> Written {
    let bare = if kind == Kind::Angle {
        Unit::Degree
    } else {
        kind.inside()
    };
    parse(text, kind, bare).unwrap_or_else(|e| panic!("{text}: {e}"))
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-15 * b.abs().max(1.0)
}

#[test]
fn lengths() {
    let inch = 25.4;
    for (text, mm) in [
        ("12.5 mm", 12.5),
        ("12.5mm", 12.5),
        ("  12.5 mm\t", 12.5),
        ("180", 180.0),
        ("-3.25", -3.25),
        ("−3.25 mm", -3.25),
        ("- 3.25 mm", -3.25),
        ("+0.5 mm", 0.5),
        ("5. mm", 5.0),
        ("1.5e2 mm", 150.0),
        ("2 cm", 20.0),
        ("0.4 m", 400.0),
        ("25 µm", 0.025),
        ("25 μm", 0.025),
        ("25 um", 0.025),
        ("1.25 in", 31.75),
        ("1.25 inches", 31.75),
        ("1.25 in.", 31.75),
        ("1.25\"", 31.75),
        ("1.25″", 31.75),
        (".060in", 1.524),
        ("60 thou", 1.524),
        ("60 mil", 1.524),
        ("7/16 in", 0.4375 * inch),
        ("7 / 16 in", 0.4375 * inch),
        ("7⁄16\"", 0.4375 * inch),
        ("3 1/8 in", 3.125 * inch),
        ("3-1/8 in", 3.125 * inch),
        ("-3-1/8 in", -3.125 * inch),
        ("3⅛ in", 3.125 * inch),
        ("3 ⅛ in", 3.125 * inch),
        ("3-⅛ in", 3.125 * inch),
        ("½ in", 12.7),
        ("25/8 in", 3.125 * inch),
        ("1/2 mm", 0.5),
        ("2 ft", 609.6),
        ("2'", 609.6),
        ("1' 2\"", 14.0 * inch),
        ("1'2\"", 14.0 * inch),
        ("1'-2\"", 14.0 * inch),
        ("1' 2 1/2\"", 14.5 * inch),
        ("1'-2-1/2\"", 14.5 * inch),
        ("1′ 2½″", 14.5 * inch),
        ("1 ft 2.5 in", 14.5 * inch),
        ("-1 foot 2.5 inches", -14.5 * inch),
        ("#7", 0.201 * inch),
        ("# 7", 0.201 * inch),
        ("No. 7", 0.201 * inch),
        ("F", 0.257 * inch),
    ] {
        let written = read(text, Kind::Length);
        assert!(
            near(written.value, mm),
            "{text} is {} mm, not {mm}",
            written.value
        );
        assert_eq!(written.show(), text.trim());
    }
}

#[test]
fn angles() {
    for (text, degrees) in [
        ("35 deg", 35.0),
        ("35°", 35.0),
        ("35", 35.0),
        ("-80 degrees", -80.0),
        ("12°30'", 12.5),
        ("12° 30′", 12.5),
        ("12 deg 30'", 12.5),
        ("12°30'36\"", 12.51),
        ("-12°30'36\"", -12.51),
        ("12°0.5'", 12.0 + 0.5 / 60.0),
        ("12°36\"", 12.01),
        ("30'", 0.5),
        ("36\"", 0.01),
        ("1 turn", 360.0),
        ("1 1/2 turns", 540.0),
        ("1/3 turn", 120.0),
        ("whole turn", 360.0),
        ("half turn", 180.0),
        ("-quarter turn", -90.0),
    ] {
        let written = read(text, Kind::Angle);
        assert!(
            near(written.value, degrees.to_radians_by_definition()),
            "{text}"
        );
    }
    assert_eq!(read("2 rad", Kind::Angle).value, 2.0);
    assert_eq!(read("half turn", Kind::Angle).value, PI);
}

trait Degrees {
    fn to_radians_by_definition(self) -> f64;
}

impl Degrees for f64 {
    fn to_radians_by_definition(self) -> f64 {
        self * PI / 180.0
    }
}

#[test]
fn other_kinds() {
    let lbf = 4.448_221_615_260_5;
    for (text, kind, value) in [
        ("8 kN", Kind::Force, 8000.0),
        ("5 lbf", Kind::Force, 5.0 * lbf),
        ("2 kgf", Kind::Force, 19.6133),
        ("2 N·m", Kind::Moment, 2000.0),
        ("2 Nm", Kind::Moment, 2000.0),
        ("2 N m", Kind::Moment, 2000.0),
        ("2 N*m", Kind::Moment, 2000.0),
        ("2 N·mm", Kind::Moment, 2.0),
        ("3 lbf·in", Kind::Moment, 3.0 * lbf * 25.4),
        ("3 ft-lb", Kind::Moment, 3.0 * lbf * 304.8),
        ("6 MPa", Kind::Pressure, 6.0),
        ("6 N/mm²", Kind::Pressure, 6.0),
        ("6 bar", Kind::Pressure, 0.6),
        ("100 kPa", Kind::Pressure, 0.1),
        ("205 GPa", Kind::Pressure, 205_000.0),
        ("40 N/mm", Kind::Stiffness, 40.0),
        ("9 kN/mm", Kind::Stiffness, 9000.0),
        ("2e5 N/m", Kind::Stiffness, 200.0),
        ("10 lbf/in", Kind::Stiffness, 10.0 * lbf / 25.4),
        ("3 N·m/rad", Kind::AngularStiffness, 3000.0),
        ("3 N·m/deg", Kind::AngularStiffness, 3000.0 * 180.0 / PI),
        ("1.2 kg", Kind::Mass, 1.2),
        ("250 g", Kind::Mass, 0.25),
        ("16 oz", Kind::Mass, 0.453_592_37),
        ("1 m/s", Kind::Speed, 1000.0),
        ("30 m/min", Kind::Speed, 500.0),
        ("60 in/min", Kind::Speed, 25.4),
        ("100 sfm", Kind::Speed, 508.0),
        ("30 rpm", Kind::TurningSpeed, PI),
        ("1 rev/min", Kind::TurningSpeed, TAU / 60.0),
        ("90 deg/s", Kind::TurningSpeed, PI / 2.0),
        ("18", Kind::Count, 18.0),
        ("1.5", Kind::Count, 1.5),
    ] {
        let written = read(text, kind);
        assert!(
            near(written.value / value, 1.0),
            "{text} is {}, not {value}",
            written.value
        );
        assert_eq!(written.kind(), kind);
    }
}

#[test]
fn forms() {
    for (text, form) in [
        ("12.50 mm", Form::Decimal { digits: 2 }),
        ("12 mm", Form::Decimal { digits: 0 }),
        ("3 1/8 in", Form::Fraction { denominator: 8 }),
        ("⅜ in", Form::Fraction { denominator: 8 }),
        ("1' 2.50\"", Form::FeetInches { digits: 2 }),
        ("#7", Form::Drill),
    ] {
        assert_eq!(read(text, Kind::Length).form, form, "{text}");
    }
    assert_eq!(
        read("12°30'15.5\"", Kind::Angle).form,
        Form::DegMinSec { digits: 1 }
    );
    assert_eq!(read("half turn", Kind::Angle).form, Form::Words);
}

#[test]
fn bare_numbers_take_the_unit_of_the_place() {
    let written = number(1.5, Kind::Length, Unit::Inch).unwrap();
    assert_eq!(
        (written.value, written.unit, written.show()),
        (38.1, Unit::Inch, "1.5")
    );
    assert_eq!(written.show_as(25.4), "1.0");
    assert_eq!(
        number(-0.0, Kind::Length, Unit::Millimetre).unwrap().show(),
        "0"
    );
    assert_eq!(
        number(1e300, Kind::Length, Unit::Millimetre)
            .unwrap()
            .show(),
        "1e300"
    );
    assert_eq!(
        parse("7/16", Kind::Length, Unit::Inch).unwrap().value,
        11.1125
    );
}

#[test]
fn another_value_in_the_same_manner() {
    for (text, mm, shown) in [
        ("12.50 mm", 3.0, "3.00 mm"),
        ("12 mm", 12.345, "12.345 mm"),
        ("12 mm", 0.1 + 0.2, "0.3 mm"),
        ("12mm", 13.0, "13mm"),
        ("5", -7.25, "-7.25"),
        ("+0.5 mm", 0.7, "+0.7 mm"),
        ("+0.5 mm", -0.7, "-0.7 mm"),
        (".060in", 1.27, ".050in"),
        (".060in", 31.75, "1.250in"),
        ("3 1/8 in", 69.85, "2 3/4 in"),
        ("3-1/8 in", 69.85, "2-3/4 in"),
        ("3⅛ in", 69.85, "2¾ in"),
        ("3⅛ in", 25.4 * 2.015_625, "2 1/64 in"),
        ("7/16\"", 25.4, "1\""),
        ("7/16\"", 25.4 * 0.3, "0.300\""),
        ("1/10 in", 25.4 * 0.3, "3/10 in"),
        ("1' 2 1/2\"", 25.4 * 25.25, "2' 1 1/4\""),
        ("1' 2 1/2\"", 25.4 * 25.1, "2' 1.1\""),
        ("1 ft 2 in", 609.6, "2 ft 0 in"),
        ("1' 2.50\"", 25.4 * 25.5, "2' 1.50\""),
        ("#7", 0.228 * 25.4, "#1"),
        ("#7", 0.257 * 25.4, "F"),
        ("F", 0.2 * 25.4, "0.200 in"),
        ("#7", -5.08, "-0.200 in"),
        ("1 inch", 50.8, "2 inches"),
        ("2 feet", 304.8, "1 foot"),
        ("2 feet", 152.4, "0.5 foot"),
        ("60 thou", 0.0254, "1 thou"),
        ("5 mm", 1e-20, "0 mm"),
        ("5 mm", f64::NAN, "not a finite number"),
    ] {
        assert_eq!(
            read(text, Kind::Length).show_as(mm),
            shown,
            "{text} as {mm} mm"
        );
    }
    for (text, degrees, shown) in [
        ("35 deg", 12.5, "12.5 deg"),
        ("35.0°", 12.0, "12.0°"),
        ("12°30'", 45.25, "45°15'"),
        ("12°30'", 12.505, "12°30'18\""),
        ("12°30'15\"", 12.5, "12°30'0\""),
        ("12°30'15\"", -0.5, "-0°30'0\""),
        ("12°30.5'", 1.0, "1°0.0'"),
        ("half turn", 90.0, "quarter turn"),
        ("half turn", 540.0, "1 1/2 turns"),
        ("half turn", -360.0, "-whole turn"),
        ("half turn", 36.0, "0.1 turn"),
        ("1 turn", 720.0, "2 turns"),
        ("1/3 turn", 240.0, "2/3 turn"),
        ("1 1/2 turns", 90.0, "1/4 turn"),
    ] {
        let shown_as = read(text, Kind::Angle).show_as(degrees.to_radians_by_definition());
        assert_eq!(shown_as, shown, "{text} as {degrees} deg");
    }
    assert_eq!(read("2 N m", Kind::Moment).show_as(2500.0), "2.5 N m");
}

#[test]
fn threads() {
    for (text, name, major, pitch, left) in [
        ("M8", "M8", 8.0, 1.25, false),
        ("M 8", "M8", 8.0, 1.25, false),
        ("M8x1", "M8x1", 8.0, 1.0, false),
        ("M8x1.25", "M8", 8.0, 1.25, false),
        ("M6 x 0.75", "M6x0.75", 6.0, 0.75, false),
        ("M6×0.75", "M6x0.75", 6.0, 0.75, false),
        ("M9x1", "M9x1", 9.0, 1.0, false),
        ("M8 LH", "M8 LH", 8.0, 1.25, true),
        ("M8 left", "M8 LH", 8.0, 1.25, true),
        ("M8x1 left hand", "M8x1 LH", 8.0, 1.0, true),
        ("M8-LH", "M8 LH", 8.0, 1.25, true),
        ("M8 right hand", "M8", 8.0, 1.25, false),
        ("1/4-20", "1/4-20 UNC", 6.35, 1.27, false),
        ("1/4-20 UNC", "1/4-20 UNC", 6.35, 1.27, false),
        ("1/4 UNC", "1/4-20 UNC", 6.35, 1.27, false),
        ("1/4 UNF LH", "1/4-28 UNF LH", 6.35, 25.4 / 28.0, true),
        ("1/4-24", "1/4-24", 6.35, 25.4 / 24.0, false),
        (".250-20", "1/4-20 UNC", 6.35, 1.27, false),
        ("#10-32", "#10-32 UNF", 4.826, 25.4 / 32.0, false),
        ("10-32", "#10-32 UNF", 4.826, 25.4 / 32.0, false),
        ("#10 UNC", "#10-24 UNC", 4.826, 25.4 / 24.0, false),
        ("2-56", "#2-56 UNC", 0.086 * 25.4, 25.4 / 56.0, false),
        ("1-64", "#1-64 UNC", 0.073 * 25.4, 25.4 / 64.0, false),
        ("1-8", "1-8 UNC", 25.4, 3.175, false),
        ("1 1/4-7", "1 1/4-7 UNC", 31.75, 25.4 / 7.0, false),
        ("1-1/4-7", "1 1/4-7 UNC", 31.75, 25.4 / 7.0, false),
        ("2 UNC", "2-4.5 UNC", 50.8, 25.4 / 4.5, false),
        ("5/32-32", "5/32-32", 3.96875, 25.4 / 32.0, false),
    ] {
        let thread = thread::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert_eq!((thread.name.as_str(), thread.left), (name, left), "{text}");
        assert!(
            near(thread.major, major) && near(thread.pitch, pitch),
            "{text}: {thread:?}"
        );
        assert_eq!(thread.inch, !text.starts_with('M'), "{text}");
    }
}

#[test]
fn one_type_per_kind() {
    assert_eq!((Length(25.4) + Length::from_thou(1000.0)).inches(), 2.0);
    assert_eq!(
        (Length::from_inches(2.0) - Length(25.4)) * 2.0 / 4.0,
        -Length(-12.7)
    );
    assert!(near(Angle::from_deg(180.0).turns(), 0.5));
    assert!(near(
        Force::from_pounds_force(1.0).newtons(),
        4.448_221_615_260_5
    ));
    assert!(near(Turning::from_rpm(60.0).rad_per_s(), TAU));
}
