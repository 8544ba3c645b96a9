//! What lies in one another as the machine stands: plates of the frame, which no drive moves, and everything as drawn.

use super::across::Prism;
use super::outline::Placed;
use super::shapes::{Shape, shapes};
use super::{Pair, Pairs, pairs};
use crate::answers::{Finding, Inside, Severity};
use crate::assemble::Model;
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use crate::say;

/// Parts that lie in one another as drawn, and where both say in which layer they lie; nothing is told of those that say it of neither.
///
/// # Errors
/// A machine that cannot be assembled as drawn.
pub fn as_drawn(model: &Model) -> Result<Vec<Finding>, Refusal> {
    let mut bench = Bench::new(model);
    let home = bench.bring(&model.drawn())?;
    let (shapes, _) = shapes(model);
    let Pairs { moving, still, .. } = pairs(model, &shapes);
    let all: Vec<Pair> = still
        .into_iter()
        .chain(moving)
        .filter(|p| p.layer_known)
        .collect();
    Ok(findings(model, &home, &shapes, &all))
}

/// Pairs that lie in one another here, each told once.
pub(super) fn findings(
    model: &Model,
    here: &Here,
    shapes: &[Shape],
    pairs: &[Pair],
) -> Vec<Finding> {
    let placed: Vec<Option<Placed<'_>>> = shapes.iter().map(|s| s.placed(model, here)).collect();
    let mut all: Vec<Finding> = Vec::new();
    for pair in pairs {
        let [i, j] = pair.shapes;
        let [a, b] = [&shapes[i], &shapes[j]];
        let (Some(p), Some(q)) = (&placed[i], &placed[j]) else {
            continue;
        };
        let deep = match &pair.across {
            Some(frame) => {
                let solid = [(a, p), (b, q)].map(|(s, p)| -> Prism { s.prism(p) });
                let apart = frame.apart(&solid[0], &solid[1], 0.0);
                apart.map_or(0.0, |(far, _)| -far)
            }
            None => {
                let thick = a.depth[1].min(b.depth[1]) - a.depth[0].max(b.depth[0]);
                p.apart(q, 0.0)
                    .map_or(0.0, |_| p.retreat(q).min(thick.max(0.0)))
            }
        };
        if deep <= LEAST {
            continue;
        }
        let plane = |s: &Shape| model.machine.planes.get(s.plane).map_or("", |p| &p.name);
        let planes = if pair.across.is_some() {
            format!(
                " ({} stands in plane {}, {} in plane {})",
                a.name,
                plane(a),
                b.name,
                plane(b)
            )
        } else {
            String::new()
        };
        let finding = Finding {
            severity: if pair.layer_known {
                Severity::Fault
            } else {
                Severity::Caution
            },
            sentence: format!(
                "{} and {} lie in one another as drawn{planes}: one has to go back by {}{}",
                a.name,
                b.name,
                say::value(deep, model.machine.unit),
                if pair.layer_known {
                    ""
                } else {
                    ", if they lie in the layer of their plane; no `station` says otherwise"
                }
            ),
            number: Some(-deep),
            margin: Some(-deep),
            inside: Some(Inside::Millimetre),
            what_to_try: Some(if pair.layer_known {
                String::from("a shorter outline for one of them, or another station or plane")
            } else {
                format!("write the `station` of {} and of {}", a.name, b.name)
            }),
            about: a.name.clone(),
            place: machine::model::Place::default(),
        };
        // A plate that stands at several stations is told where it is worst.
        let twin = all.iter_mut().find(|f| {
            f.about == finding.about
                && f.sentence
                    .starts_with(&format!("{} and {} ", a.name, b.name))
        });
        match twin {
            Some(twin) if twin.number > finding.number => *twin = finding,
            Some(_) => {}
            None => all.push(finding),
        }
    }
    all.sort_by(|a, b| {
        let depth = |f: &Finding| f.number.unwrap_or(0.0);
        depth(a).total_cmp(&depth(b))
    });
    all
}

/// What lies in one another by less is touching, mm: outlines are laid out to a hundredth.
const LEAST: f64 = 0.05;
