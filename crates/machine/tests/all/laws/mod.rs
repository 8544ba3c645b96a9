//! What holds for every text whatever. Shared by the property tests, the replay of the corpus and the fuzz target.

use machine::model::{Adjusts, Judges, Measures, Moves};
use machine::{Machine, Reading, Severity};

/// Everything a reading promises, whatever was read.
pub(crate) fn sound(found: &Reading) {
    let errors = found
        .problems
        .iter()
        .filter(|p| p.severity == Severity::Error)
        .count();
    assert_eq!(found.machine.is_none(), errors > 0);
    for problem in found.problems.iter().take(50) {
        for label in &problem.labels {
            let source = found.sources.get(label.place.source).unwrap();
            assert!(label.place.start <= label.place.end, "{problem:?}");
            assert!(
                source
                    .text()
                    .get(label.place.start..label.place.end)
                    .is_some(),
                "{problem:?}"
            );
        }
        assert!(
            !problem.message.is_empty() && !problem.message.contains('\n'),
            "{problem:?}"
        );
        let _ = problem.resolved(&found.sources);
        let _ = problem.render(&found.sources, true);
    }
    if let Some(machine) = &found.machine {
        indices(machine);
    }
}

/// All indices of a machine lead somewhere and all numbers are finite.
fn indices(m: &Machine) {
    let (points, parts) = (m.points.len(), m.parts.len());
    for p in &m.points {
        assert!(
            p.plane < m.planes.len() && p.x.is_finite() && p.y.is_finite() && p.station.is_finite()
        );
    }
    for p in &m.parts {
        assert!(p.plane < m.planes.len() && p.carries.iter().all(|&c| c < points));
        assert!(p.clamped_to.is_none_or(|c| c < parts));
    }
    assert!(m.rods.iter().all(|r| r.joins.iter().all(|&p| p < points)));
    assert!(
        m.slides
            .iter()
            .all(|s| s.part < parts && s.on < parts && s.along.is_finite())
    );
    for s in &m.slots {
        assert!(
            s.pin < points
                && s.of < parts
                && s.within < parts
                && s.ends.iter().all(|&p| p < points)
        );
        assert!(s.centre.is_none_or(|c| c < points));
    }
    assert!(m.ratios.iter().all(|r| r.carrier < parts
        && r.joins.iter().all(|&p| p < parts)
        && r.sizes.iter().all(|&s| s > 0.0)));
    assert!(
        m.racks
            .iter()
            .all(|r| r.gear < parts && r.slide < m.slides.len() && r.radius != 0.0)
    );
    assert!(
        m.rows
            .iter()
            .all(|r| r.on < parts && r.point < points && r.used < r.holes.len())
    );
    for d in &m.drives {
        match d.moves {
            Moves::Turns(p) => assert!(p < parts),
            Moves::Slides(s) => assert!(s < m.slides.len()),
        }
        assert!(d.range.is_none_or(|[a, b]| a < b));
    }
    for s in &m.settings {
        match s.adjusts {
            Adjusts::Rod(r) => assert!(r < m.rods.len()),
            Adjusts::Row(r) => assert!(r < m.rows.len()),
            Adjusts::Clock(p) => assert!(m.parts[p].clamped_to.is_some()),
            Adjusts::Shim { point, part, .. } => assert!(m.parts[part].carries.contains(&point)),
            Adjusts::Stop(s) => assert!(s < m.stops.len()),
        }
    }
    assert!(m.faces.iter().all(|f| f.at < points && f.on < parts));
    for r in &m.readings {
        match &r.measures {
            Measures::Gap(f) => assert!(f.iter().all(|&f| f < m.faces.len())),
            Measures::Between { points: p, .. } | Measures::Distance(p) => {
                assert!(p.iter().all(|&p| p < points));
            }
            Measures::TurnOf { part, against, .. } => assert!(*part < parts && *against < parts),
            Measures::PlaceOf { point, .. } => assert!(*point < points),
            Measures::Over { reading, drive, .. } => {
                assert!(*reading < m.readings.len() && m.drives[*drive].range.is_some());
            }
        }
    }
    assert!(
        m.stops
            .iter()
            .all(|s| s.reading < m.readings.len() && (s.at_least.is_some() || s.at_most.is_some()))
    );
    for a in &m.asks {
        assert!(a.reading < m.readings.len() && (a.at_least.is_some() || a.at_most.is_some()));
        let (Judges::At { when }
        | Judges::Anywhere { when, .. }
        | Judges::Swing { when, .. }
        | Judges::Per { when, .. }) = &a.judges;
        assert!(when.iter().all(|&(d, _)| d < m.drives.len()));
    }
}
