//! What the teeth bear: bending at the root, wear of the flanks, and the smallest module that does.

use super::{RACK, Teeth, Wheel, Work};
use crate::answers::Severity;
use crate::parts::say;
use crate::parts::study::{Draft, Study, source};
use elements::gears::{
    BRONZE, BRONZE_BEARS, Flank, IRON, IRON_BEARS, MODULES, PITCHES, STEEL, Spur, WEAR, bending,
    steel_bears, wear,
};
use elements::{Check, Source};
use machine::work::Material;

/// Share of the tensile strength that Lewis lets a tooth bear under steady work (common practice).
const LEWIS: f64 = 3.0;
/// What a tooth bears that is bent both ways, of what it bears one way (AGMA 2001, from memory).
const BOTH_WAYS: f64 = 0.7;
/// A face wider than this many modules bears at one end (common practice: 8 to 16).
const WIDE: f64 = 16.0;
/// Meshes for which a figure of flanks holds: its source begins with them.
fn meshes(origin: Source) -> &'static str {
    origin.text.split(' ').next().unwrap_or("10^7")
}

/// What a flank of a material bears for long, with its source; none where no figure is known.
fn flank_bears(material: &Material) -> Option<(f64, Source)> {
    let name = material.name.to_ascii_lowercase();
    if name.contains("iron") {
        return Some((IRON_BEARS, IRON));
    }
    if name.contains("bronze") {
        return Some((BRONZE_BEARS, BRONZE));
    }
    // Steel is told by its modulus.
    if !(190_000.0..=215_000.0).contains(&material.modulus) {
        return None;
    }
    Some((steel_bears(material.tensile?).ok()?, STEEL))
}

/// A wheel whose teeth can be reckoned with.
struct Side<'w> {
    wheel: &'w Wheel<'w>,
    tensile: f64,
    /// Its teeth are bent both ways: by a load that goes both ways, or between two others.
    both_ways: bool,
}

impl Study<'_> {
    /// Bending and wear of the teeth, and the smallest module that bears them.
    pub(super) fn teeth_bear(
        &mut self,
        draft: &mut Draft,
        wheels: &[Wheel<'_>; 2],
        teeth: &Teeth,
        work: &Work,
        would: impl Fn(f64) -> String,
    ) {
        match work.speed {
            Some(speed) => draft.assume(format!("pitch line speed {speed:.2} m/s at most")),
            None => draft
                .assume("it is reckoned as turning slowly: no drive tells how fast (`per-minute`)"),
        }
        let faces: Vec<f64> = wheels.iter().filter_map(|w| w.face).collect();
        let mut sides = Vec::new();
        for wheel in wheels {
            if wheel.face.is_none() {
                draft.assume(format!(
                    "neither `face` nor the stock of {} is given: its teeth are not checked",
                    self.part(wheel.part)
                ));
                continue;
            }
            match wheel.material.and_then(|m| m.tensile) {
                Some(tensile) => sides.push(Side {
                    wheel,
                    tensile,
                    both_ways: work.both_ways || self.idles(wheel.part),
                }),
                None => draft.assume(format!(
                    "no strength of {} is known: its teeth are not checked",
                    self.part(wheel.part)
                )),
            }
        }
        let Some(face) = faces.iter().copied().reduce(f64::min) else {
            return;
        };
        if sides.is_empty() {
            return;
        }
        if faces.iter().any(|f| f - face > 1e-9) {
            draft.assume("the narrower of the two faces bears on both");
        }
        let speed = work.speed.unwrap_or(0.0);
        let rack = wheels[1].spur.teeth == RACK;
        // At the same moment the force falls as the wheels grow.
        let force = |module: f64| work.force.value * if rack { 1.0 } else { teeth.module / module };
        let bent = |module: f64| -> Vec<Check> {
            let one = |side: &Side<'_>| {
                let spur = Spur {
                    module,
                    ..side.wheel.spur
                };
                let bears = side.tensile / LEWIS * if side.both_ways { BOTH_WAYS } else { 1.0 };
                let mut check = bending(&spur, face, force(module), speed, bears).ok()?;
                check.what = match side.wheel.word {
                    "pinion" => "bending of the teeth of the pinion",
                    "rack" => "bending of the teeth of the rack",
                    "ring" => "bending of the teeth of the ring",
                    _ => "bending of the teeth of the wheel",
                };
                Some(check)
            };
            sides.iter().filter_map(one).collect()
        };
        let surfaces: Vec<(f64, Source)> = wheels
            .iter()
            .filter_map(|w| flank_bears(w.material?))
            .collect();
        let softer = surfaces
            .into_iter()
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|_| {
                wheels
                    .iter()
                    .all(|w| w.material.is_some_and(|m| flank_bears(m).is_some()))
            });
        let worn = |module: f64| -> Option<Check> {
            let (bears, _) = softer?;
            let flank = |wheel: &Wheel<'_>| {
                let material = wheel.material?;
                Some(Flank {
                    spur: Spur {
                        module,
                        ..wheel.spur
                    },
                    inside: wheel.word == "ring",
                    youngs: material.modulus,
                    poisson: material.poisson,
                })
            };
            let [a, b] = wheels;
            let (a, b) = (flank(a)?, flank(b)?);
            wear(&a, &b, work.angle, face, force(module), speed, bears).ok()
        };
        for check in &bent(teeth.module) {
            let checked = self.check(check, 1.0, Some(&work.force));
            draft.item.checks.push(checked);
        }
        // Only a life that is asked for makes wear a matter of pass or fail.
        if sides.iter().any(|s| s.both_ways) {
            draft.assume(format!(
                "bent both ways a tooth bears {BOTH_WAYS} of that (AGMA 2001, from memory)"
            ));
        }
        let lasting = self.machine.work.usual.life_hours.is_some();
        match (worn(teeth.module), softer) {
            (Some(check), Some((bears, origin))) if check.acts > 0.0 => {
                if lasting {
                    let checked = self.check(&check, 1.0, Some(&work.force));
                    draft.item.checks.push(checked);
                }
                let text = format!(
                    "flanks press with {} on the pitch line; the softer bears {} for {} meshes, oiled",
                    say::value(check.acts, "MPa", self.machine),
                    say::value(bears, "MPa", self.machine),
                    meshes(origin)
                );
                draft.item.figures.push(self.figure(
                    "pressure of the flanks",
                    check.acts,
                    "MPa",
                    WEAR,
                    text,
                ));
                draft.assume(format!("what flanks bear: {}", source(origin)));
                if !lasting {
                    draft.assume(
                        "wear is told and not judged: no `life-hours` are wanted in [usual]",
                    );
                }
            }
            (None, _) if work.force.value > 0.0 => draft.assume(
                "wear of the flanks is not checked: it is known for steel, cast iron and bronze",
            ),
            _ => {}
        }
        for side in &sides {
            if let Some(material) = side.wheel.material {
                self.grade(material);
            }
        }
        draft.assume("a tooth bears a third of the tensile strength, with the whole force at its tip (Lewis, common practice)");
        if wheels.iter().any(|w| w.word == "ring") {
            draft.assume("teeth of the ring are reckoned as those of a wheel of as many teeth: they are stronger");
        }
        if !(7.0..=16.5).contains(&(face / teeth.module)) {
            draft.assume(format!(
                "the face is {:.1} modules wide: 8 to 16 are usual (common practice)",
                face / teeth.module
            ));
        }
        let mut list: Vec<f64> = if teeth.by_pitch {
            PITCHES.iter().map(|p| 25.4 / p).collect()
        } else {
            MODULES.to_vec()
        };
        list.sort_by(f64::total_cmp);
        let bears = |module: &f64| {
            let bent = bent(*module);
            bent.len() == sides.len() && bent.iter().all(|c| c.passes(1.0))
        };
        // What presses more than it bears for long is not offered; a face much wider than its teeth bears at one end only.
        let lasts = |module: f64| worn(module).is_none_or(|c| c.passes(1.0));
        if !lasting
            && let Some(check) = worn(teeth.module)
            && !check.passes(1.0)
        {
            let [acts, bears] =
                [check.acts, check.bears].map(|v| say::value(v, "MPa", self.machine));
            let sentence = format!(
                "{}, {}: its flanks press with {acts}, and bear {bears} for long: they wear or pit the sooner the more they turn",
                draft.item.what, draft.item.at
            );
            let try_this = "harder flanks, a wider face or larger wheels; `life-hours` in [usual] makes it a check";
            self.say(Severity::Caution, draft, sentence, Some(try_this.into()));
        }
        let usual = |module: f64| face / module <= WIDE + 1e-9;
        let best = list
            .into_iter()
            .find(|m| bears(m) && usual(*m) && lasts(*m));
        let smaller = best.is_some_and(|m| m < teeth.module * 0.999);
        draft.would_do(
            best.map(would),
            if teeth.by_pitch {
                "diametral pitches 48 to 5"
            } else {
                "modules 0.5 to 6"
            },
            smaller,
        );
    }
}
