//! Marks of the scale, drift, and parts beyond their tolerance.

use super::*;

#[test]
fn marks_stand_where_the_machine_reads_them() {
    let model = press();
    let made = model.made(&errors(&model, 60)).unwrap();
    let run = Taking::plain(0).take(&made, 61);
    let (_, built) = dial_in(&model, &log(vec![run])).unwrap();
    let built = built.unwrap();
    let wanted = scale::Wanted {
        reading: 0,
        drive: 0,
        radius: 90.0,
        step: None,
        shape: answers::Shape::Arc,
        goes: answers::Goes::Pointer,
        coming: 0.0,
        strip: 0.0,
    };
    for of in [None, Some(&built)] {
        let made = scale::scale(&model, of, &built.stand, &wanted).unwrap();
        assert!(made.marks.len() > 20);
        let machine = of.map_or(&model, |b| &b.model);
        for m in &made.marks {
            assert!(
                (gap_at(machine, m.at.to_degrees()) - m.value).abs() < 1e-8,
                "{m:?}"
            );
            assert_eq!(m.plus_minus.is_some(), of.is_some());
        }
        let gaps: Vec<f64> = made
            .marks
            .windows(2)
            .map(|w| w[1].along - w[0].along)
            .collect();
        assert!(gaps.iter().all(|g| *g > 0.75), "{gaps:?}");
        assert!(made.marks.iter().filter(|m| m.label.is_some()).count() >= 2);
        // A drum: once round is the circumference of the middle of the strip.
        let drum = scale::Wanted {
            shape: answers::Shape::Drum,
            strip: 0.2,
            ..wanted
        };
        let drum = scale::scale(&model, of, &built.stand, &drum).unwrap();
        assert!((drum.around.unwrap() - std::f64::consts::TAU * 90.1).abs() < 1e-9);
        assert!(
            (drum.length - 90.1 * (drum.marks[drum.marks.len() - 1].at - drum.marks[0].at)).abs()
                < 1e-9
        );
    }
    let wrong = scale::Wanted {
        step: Some(1e-7),
        ..wanted
    };
    assert!(scale::scale(&model, None, &built.stand, &wrong).is_err());
    assert!(
        scale::scale(
            &model,
            None,
            &built.stand,
            &scale::Wanted {
                radius: 0.0,
                ..wanted
            }
        )
        .is_err()
    );
}

#[test]
fn a_drift_from_job_to_job_is_seen() {
    let drawn = gap_at(&press(), 20.0);
    let model = tight(&format!(
        "between = [\"{:.3} mm\", \"{:.3} mm\"]",
        drawn - 0.3,
        drawn + 0.3
    ));
    let run = Taking {
        zero: Zero::True,
        ..Taking::plain(0)
    }
    .take(&model, 70);
    let job = |day: i64, off: f64| machine::logbook::Job {
        name: format!("job {day}"),
        note: String::new(),
        on: machine::logbook::Date::parse("2026-01-01").map(|d| d.after(day)),
        at: vec![(0, 20_f64.to_radians())],
        set: Vec::new(),
        reads: vec![(0, gap_at(&model, 20.0) + off)],
        uncertainty: Some(0.01),
        place: Place::default(),
    };
    let wear = |per_day: f64| {
        let jobs = (0..8)
            .map(|i| {
                job(
                    i * 15,
                    per_day * i as f64 * 15.0 + if i % 2 == 0 { 0.003 } else { -0.003 },
                )
            })
            .collect();
        let mut log = log(vec![run.clone()]);
        log.jobs = jobs;
        dial_in(&model, &log).unwrap().0.fit.unwrap().wear
    };
    let drifting = &wear(0.001)[0];
    assert!(drifting.drifts, "{drifting:?}");
    assert!(
        (drifting.a_month - 0.0304).abs() < drifting.plus_minus,
        "{drifting:?}"
    );
    assert!(drifting.look_again.unwrap() > drifting.last);
    let still = &wear(0.0)[0];
    assert!(
        !still.drifts && still.look_again.unwrap() > drifting.look_again.unwrap(),
        "{still:?}"
    );
}

#[test]
fn a_part_beyond_its_tolerance_is_told_and_not_hidden() {
    let model = press();
    let empty = Log::default();
    let known = System::new(&model, &empty);
    // Each part that these readings see well, made three, six and ten times its tolerance off.
    let named = |of: &str| {
        known
            .unknowns
            .iter()
            .position(|u| model.dimensions[u.dimension].name.contains(of))
            .unwrap()
    };
    let k = named("lever: centre distance stud to pin");
    let u = &known.unknowns[k];
    for times in [3.0, 6.0, 10.0] {
        let off = times * 3.0 * u.scale;
        let made = model.made(&[(u.dimension, off)]).unwrap();
        let run = Taking {
            zero: Zero::True,
            ..Taking::plain(0)
        }
        .take(&made, 70);
        let (answer, _) = dial_in(&model, &log(vec![run])).unwrap();
        let fit = answer.fit.clone().unwrap();
        let name = &model.dimensions[u.dimension].name;
        // Either it is named, or another that does the same, and it beside that one.
        let told = answer
            .findings
            .iter()
            .find(|f| f.sentence.contains("came out"))
            .unwrap();
        let help = told.what_to_try.clone().unwrap_or_default();
        let is_told = told.sentence.contains(name.as_str());
        assert!(is_told || help.contains(name.as_str()), "{times}: {told:?}");
        if is_told {
            let d = fit
                .dimensions
                .iter()
                .find(|d| d.dimension == *name)
                .unwrap();
            assert!(
                (d.off - off).abs() < 1.5 * d.after,
                "{times}: {} ± {} of {off}",
                d.off,
                d.after
            );
        }
        assert!(
            (fit.left_over.widened - 1.0).abs() < 1e-9,
            "{times}: {:?}",
            fit.left_over
        );
        for r in &fit.readings {
            let mut bench = Bench::new(&made);
            let here = bench.bring(&made.drawn()).unwrap();
            let index = model
                .machine
                .readings
                .iter()
                .position(|m| m.name == r.reading.name)
                .unwrap();
            let real = bench.value(index, &here).unwrap();
            assert!(
                (r.built.unwrap() - real).abs() < 1.6 * r.plus_minus.unwrap(),
                "{times} {}",
                r.reading.name
            );
        }
    }
}
