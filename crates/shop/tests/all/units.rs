//! Files and shops of different units.

use crate::findings::of;
use quantity::Unit;

/// A text without what stands in square brackets.
fn bare(text: &str) -> String {
    let mut out = String::new();
    let mut deep = 0;
    for c in text.chars() {
        match c {
            '[' => {
                deep += 1;
                while out.ends_with(' ') {
                    out.pop();
                }
            }
            ']' => deep -= 1,
            c if deep == 0 => out.push(c),
            _ => {}
        }
    }
    out
}

/// What is read off the dials does not depend on the unit of the drawing; that stands in brackets.
#[test]
fn a_drawing_in_inches_is_made_by_the_same_dials() {
    for name in ["strap-embosser", "power-hacksaw"] {
        let metric = of(name);
        let mut inches = of(name);
        inches.unit = Unit::Inch;
        let [metric, inches] = [&metric, &inches].map(|m| shop::job(m, &[]));
        let mut bracketed = 0;
        assert_eq!(metric.sheets.len(), inches.sheets.len());
        for (a, b) in metric.sheets.iter().zip(&inches.sheets) {
            assert_eq!(a.setups.len(), b.setups.len(), "{name} {}", a.part);
            for (s, t) in a.setups.iter().zip(&b.setups) {
                assert_eq!(bare(&t.zero), s.zero);
                assert_eq!(s.steps.len(), t.steps.len());
                for (s, t) in s.steps.iter().zip(&t.steps) {
                    assert!(!s.text.contains(" ["), "{}", s.text);
                    bracketed += usize::from(t.check.contains('['));
                    for (own, other) in [
                        (&s.at, &t.at),
                        (&s.check, &t.check),
                        (&s.tool, &t.tool),
                        (&s.text, &t.text),
                    ] {
                        if !own.contains("bushing") {
                            assert_eq!(&bare(other), own, "{name} {}", a.part);
                        }
                    }
                    assert_eq!((s.rpm, s.feed), (t.rpm, t.feed));
                }
            }
        }
        assert!(bracketed > 5, "{name} {bracketed}");
        // Sawn to the same lengths, told in millimetres with the drawing's beside it.
        for (a, b) in metric.cut.blanks.iter().zip(&inches.cut.blanks) {
            assert_eq!(a.length, b.length);
            assert!(b.stock.contains('['), "{}", b.stock);
        }
        // Numbers of the shop's machines say their unit among those of the drawing.
        let told = inches
            .findings
            .iter()
            .filter(|f| f.advice.contains("(lengths in mm)"));
        assert!(told.count() > 1);
        assert!(
            metric
                .findings
                .iter()
                .all(|f| !f.advice.contains("(lengths in"))
        );
    }
}

/// In a shop with inch dials nothing is worked to that nobody would set: allowances and passes come in thousandths.
#[test]
fn an_inch_shop_works_in_thousandths() {
    let mut machine = of("power-hacksaw");
    machine.unit = Unit::Inch;
    machine.work.shop.as_mut().unwrap().unit = Unit::Inch;
    let job = shop::job(&machine, &[]);
    let mut seen = 0;
    for step in job
        .sheets
        .iter()
        .flat_map(|s| &s.setups)
        .flat_map(|s| &s.steps)
    {
        for text in [&step.text, &step.at] {
            assert!(!text.contains(" ["), "{text}");
            if let Some(cuts) = text.split("cuts of ").nth(1) {
                let number: String = cuts
                    .chars()
                    .take_while(|c| c.is_ascii_digit() || *c == '.')
                    .collect();
                let number = number.trim_end_matches('.');
                assert!(number.len() <= 5, "{text}");
                seen += 1;
            }
        }
    }
    assert!(seen > 10, "{seen}");
    // Bars and sheets are sold by the foot.
    assert!(
        job.cut
            .bars
            .iter()
            .filter(|b| b.rack.is_none())
            .all(|b| (b.length / 304.8).fract().abs() < 1e-9)
    );
}

/// The table of holes names the drill that the operations take.
#[test]
fn the_last_drill_is_that_of_the_operations() {
    let machine = of("treadle");
    let job = shop::job(&machine, &[]);
    let mut seen = 0;
    for (part, sheet) in job.parts.iter().zip(&job.sheets) {
        let shop::part::Form::Plate(plate) = &part.form else {
            continue;
        };
        if shop::words::is_wood(&part.material) {
            continue;
        }
        for hole in &plate.holes {
            let (drill, how) = shop::tap_drill::before(&hole.fitted, None);
            if how != "ream" {
                continue;
            }
            let tool = format!("drill {drill:.1}");
            let steps = sheet.setups.iter().flat_map(|s| &s.steps);
            assert!(steps.clone().any(|s| s.tool.starts_with(&tool)), "{tool}");
            seen += 1;
        }
    }
    assert!(seen > 1);
}
