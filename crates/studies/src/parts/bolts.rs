//! Bolted joints: what holds a plate, cap or die on its seat, against the worst that its joints press on it.

use super::answers::Kind;
use super::room::{material, sides, stock};
use super::say;
use super::study::{Draft, Study};
use crate::answers::Severity;
use crate::load::service::{OnBolts, Peak};
use elements::threads::group::{self, Acts, Bears, share};
use elements::threads::joint::{
    ALUMINIUM, Bolted, CAST_IRON, Member, STEEL, across, bolt_fatigue, head_pressure, tension,
};
use elements::threads::preload::{Class, find as class_of, preload, torque as tightening};
use elements::threads::{COARSE, UNC, basic, inch_stress_area, metric, strip, unified};
use elements::{Check, ElementError, Source};
use machine::fitting::Bolts;
use machine::model::FRAME;
use machine::work::Material;

/// Preload over the proof load (Shigley eq. 8-31, joints that are taken apart).
const PRELOAD: f64 = 0.75;
/// Torque over preload and diameter of screws as bought (Shigley table 8-15, from memory).
const AS_BOUGHT: f64 = 0.2;
/// Friction of machined faces, clean and not degreased (common practice).
const FACES: f64 = 0.12;
/// Heads and a spanner need this many diameters from bolt to bolt (common practice).
const APART: f64 = 2.5;
/// How far the preload is off either way: with a torque wrench, and by hand (VDI 2230 tightening factors 1.6 and about 2, from memory).
const SCATTER: [f64; 2] = [0.25, 1.0 / 3.0];
/// Wanted of friction that holds a load across which comes and goes, with the least preload (VDI 2230, sliding safety, from memory).
const SLIDES: f64 = 1.8;
/// Machines are bolted together with no thinner screws, unless the file does, mm (common practice).
const THIN: f64 = 4.0;
/// Modulus of the screw, MPa.
const SCREW: f64 = 207_000.0;

const TIGHTEN: Source = Source::of("T = K F d, K 0.2 (Shigley eq. 8-27)");

/// A screw of the joint.
struct Screw<'c> {
    major: f64,
    area: f64,
    class: &'c Class,
    /// Pull before the load acts, N.
    preload: f64,
    /// How far it may be off either way, as a share.
    scatter: f64,
    /// Share of a pull that the screw feels.
    share: f64,
}

impl Screw<'_> {
    fn new(
        bolts: &Bolts,
        major: f64,
        pitch: f64,
        member: Member,
    ) -> Result<Screw<'static>, ElementError> {
        let class = class_of(&bolts.class, major)?;
        let area = if bolts.thread.inch {
            inch_stress_area(major, pitch)?
        } else {
            basic(major, pitch)?.stress_area
        };
        let pull = match bolts.torque {
            Some(torque) => torque / (AS_BOUGHT * major),
            None => preload(area, class.proof, PRELOAD)?,
        };
        let stiffness = Bolted {
            major,
            stress_area: area,
            grip: bolts.grip,
            threaded: bolts.grip,
            bolt_youngs: SCREW,
            member,
        }
        .stiffness()?;
        Ok(Screw {
            major,
            area,
            class,
            preload: pull,
            scatter: SCATTER[usize::from(bolts.torque.is_none())],
            share: stiffness.share,
        })
    }

    /// Slip and opening with the least preload, growth to proof, bare shear and fatigue of one bolt.
    fn checks(&self, one: &Bears, mu: f64, works: bool) -> Result<Vec<Check>, ElementError> {
        let pull = one.pull.max(0.0);
        let least = (1.0 - self.scatter) * self.preload;
        let pressed = (least - (1.0 - self.share) * pull).max(0.0);
        let [slip, shear] = across(one.across, pressed, mu, 1, self.area, self.class.yields)?;
        let mut all = vec![slip];
        if pull > 0.0 {
            let [_, growth, _] =
                tension(self.share, self.preload, pull, self.area, self.class.proof)?;
            let [.., opening] = tension(self.share, least, pull, self.area, self.class.proof)?;
            all.extend([opening, growth]);
            if works
                && let Some(tires) =
                    bolt_fatigue(self.share, self.preload, pull, self.area, self.class)
            {
                all.push(tires);
            }
        }
        all.push(Check {
            what: "shear of the bolt alone, should the joint slip",
            ..shear
        });
        Ok(all)
    }
}

/// Layers clamped together: their gives add up, so that the modulus of all is the mean over the thickness of 1/E (as springs in a row).
fn layered(machine: &machine::Machine, bolts: &Bolts, own: Option<&Material>) -> Member {
    if bolts.layers.is_empty() {
        return member(own);
    }
    let gives: f64 = bolts
        .layers
        .iter()
        .filter_map(|(thick, m)| Some(thick / machine.work.materials.get(*m)?.modulus))
        .sum();
    let modulus = bolts.grip / gives;
    let thickest = bolts.layers.iter().max_by(|a, b| a.0.total_cmp(&b.0));
    let near = member(thickest.and_then(|l| machine.work.materials.get(l.1)));
    Member {
        youngs: if modulus.is_finite() {
            modulus
        } else {
            near.youngs
        },
        ..near
    }
}

/// The screw breaks before its thread strips, in what it is screwed into (FED-STD-H28/2).
fn strips(
    bolts: &Bolts,
    major: f64,
    pitch: f64,
    material: &Material,
    engaged: f64,
) -> Option<Check> {
    let limits = if bolts.thread.inch {
        unified::limits(major, pitch, major).ok()
    } else {
        metric::limits(major, pitch).ok()
    }?;
    let class = class_of(&bolts.class, major).ok()?;
    let area = if bolts.thread.inch {
        inch_stress_area(major, pitch).ok()?
    } else {
        basic(major, pitch).ok()?.stress_area
    };
    let pair = strip::Pair::of_limits(&limits, pitch, None);
    let needed = strip::engagement(&pair, area, class.tensile, material.tensile?).ok()?;
    Some(Check {
        what: "engagement that breaks the screw before it strips",
        acts: needed.needed,
        bears: engaged,
        unit: "mm",
        source: strip::SOURCE,
    })
}

/// Lengths in which screws are sold, mm (ISO 888) and quarters of an inch: the next shorter one where a blind hole ends, else the next longer.
fn screw_length(wanted: f64, blind: bool, inch: bool) -> f64 {
    const LENGTHS: [f64; 25] = [
        5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0,
        65.0, 70.0, 80.0, 90.0, 100.0, 110.0, 120.0, 130.0, 140.0, 150.0,
    ];
    if inch {
        let quarters = wanted / 6.35;
        let whole = if blind {
            (quarters + 1e-6).floor()
        } else {
            (quarters - 1e-6).ceil()
        };
        return 6.35 * whole.max(1.0);
    }
    let found = if blind {
        LENGTHS.into_iter().rfind(|l| *l <= wanted + 1e-6)
    } else {
        LENGTHS.into_iter().find(|l| *l >= wanted - 1e-6)
    };
    found.unwrap_or(wanted.ceil())
}

/// Stiffness of what is clamped, by its modulus.
fn member(material: Option<&Material>) -> Member {
    let Some(material) = material else {
        return STEEL;
    };
    let near = if material.modulus < 85_000.0 {
        ALUMINIUM
    } else if material.modulus < 150_000.0 {
        CAST_IRON
    } else {
        STEEL
    };
    Member {
        youngs: material.modulus,
        ..near
    }
}

impl Study<'_> {
    pub(super) fn bolts(&mut self, index: usize) {
        let machine = self.machine;
        let Some(bolts) = machine.work.bolts.get(index) else {
            return;
        };
        let count = bolts.at.len();
        let screws = if count == 1 {
            format!("screw {} {}", bolts.thread.name, bolts.class)
        } else {
            format!("{count} screws {} {}", bolts.thread.name, bolts.class)
        };
        let held = if bolts.part == FRAME {
            String::from("plate of the frame")
        } else {
            self.part(bolts.part).to_owned()
        };
        let mut draft = Draft::new(
            Kind::Bolts,
            screws,
            format!("{}, {held}", bolts.name),
            format!("bolts.{}", bolts.name),
            bolts.place,
        );
        // Through the grip and into its thread, or through a nut with two threads to spare.
        let beyond = bolts.into.map_or(
            0.8 * bolts.thread.major + 2.0 * bolts.thread.pitch,
            |(_, engaged)| engaged,
        );
        let long = screw_length(bolts.grip + beyond, bolts.into.is_some(), bolts.thread.inch);
        self.buy(
            u32::try_from(count).unwrap_or(u32::MAX),
            &format!(
                "screw {} x {} {}",
                bolts.thread.name,
                say::size(long, machine),
                bolts.class
            ),
            &bolts.name,
        );
        if let Err(error) = self.bolted(&mut draft, bolts, index) {
            self.impossible(&draft, &error);
        }
        self.done(draft);
    }

    fn bolted(
        &mut self,
        draft: &mut Draft,
        bolts: &Bolts,
        index: usize,
    ) -> Result<(), ElementError> {
        let machine = self.machine;
        self.spaced(draft, bolts);
        let own = material(machine, stock(machine, bolts.part));
        let member = layered(machine, bolts, own);
        let mu = bolts.friction.unwrap_or(FACES);
        let screw = Screw::new(bolts, bolts.thread.major, bolts.thread.pitch, member)?;
        let proof = screw.area * screw.class.proof;
        if screw.preload > proof {
            let sentence = format!(
                "{}, {}: tightened to {} each is pulled with {} and its proof load is {}",
                draft.item.what,
                draft.item.at,
                say::value(bolts.torque.unwrap_or(0.0), "N·mm", machine),
                say::value(screw.preload, "N", machine),
                say::value(proof, "N", machine)
            );
            let right = tightening(AS_BOUGHT, PRELOAD * proof, screw.major)?;
            let try_this = format!(
                "tighten to {}, or take a larger screw",
                say::value(right, "N·mm", machine)
            );
            self.say(Severity::Fault, draft, sentence, Some(try_this));
            return Ok(());
        }
        let tight = tightening(AS_BOUGHT, screw.preload, screw.major)?;
        let text = format!(
            "tighten each to {}: {} of pull (K {AS_BOUGHT}, dry as bought)",
            say::value(tight, "N·mm", machine),
            say::value(screw.preload, "N", machine)
        );
        draft
            .item
            .figures
            .push(self.figure("tightening torque", tight, "N·mm", TIGHTEN, text));
        draft.assume(match bolts.friction {
            Some(_) => format!("friction {mu} between the faces"),
            None => format!(
                "friction {mu} between the faces, machined and wiped clean (common practice)"
            ),
        });
        draft.assume(match bolts.torque {
            None => format!("tightened to {PRELOAD} of the proof load; a hand without a torque wrench is off by a third either way: slip and opening are judged with the least"),
            Some(_) => String::from("a torque wrench and friction of the thread are off by a quarter either way: slip and opening are judged with the least"),
        });
        let first = bolts
            .layers
            .first()
            .and_then(|l| machine.work.materials.get(l.1));
        let clamped = first.or(own).and_then(|m| m.tensile);
        if let Some(bears) = clamped {
            let check = head_pressure(screw.major, (1.0 + screw.scatter) * screw.preload, bears)?;
            let checked = self.check(&check, 1.0, None);
            draft.item.checks.push(checked);
        }
        if own.is_none() && bolts.layers.is_empty() {
            draft.assume("no stock is given for what is clamped: steel");
        }
        let into = bolts
            .into
            .and_then(|(m, engaged)| Some((machine.work.materials.get(m)?, engaged)));
        match into {
            Some((material, engaged)) => {
                self.grade(material);
                match strips(bolts, bolts.thread.major, bolts.thread.pitch, material, engaged) {
                    Some(check) => {
                        let checked = self.check(&check, 1.0, None);
                        draft.item.checks.push(checked);
                    }
                    None => draft.assume(format!("no strength is known for {}: stripping is not checked", material.name)),
                }
            }
            None => draft.assume("its nut, or the thread it is screwed into, is as strong as the screw: `into` says otherwise"),
        }
        draft.assume("every bolt bears its own share by friction; thread all through the grip");
        if bolts.along.is_none() && bolts.out == 0.0 {
            draft.assume("the load lies in the joint's face: write `out` when it stands off it");
        }
        // Each check in the pose and on the bolt that is worst for it.
        let poses = self.service.bolts.get(index).cloned().unwrap_or_default();
        if poses.is_empty() {
            draft.assume("no joint presses on it: not checked");
            return Ok(());
        }
        let shares: Vec<(Vec<Bears>, &OnBolts)> = match poses
            .iter()
            .map(|on| Ok((share(&bolts.at, &on.acts)?, on)))
            .collect::<Result<_, ElementError>>()
        {
            Ok(shares) => shares,
            Err(_) => {
                self.wrenched(draft, bolts, &poses);
                return Ok(());
            }
        };
        let works = machine.work.per_minute.iter().any(Option::is_some);
        let wanted = |check: &Check, factor: f64| {
            if check.what.starts_with("slip") {
                SLIDES
            } else {
                factor
            }
        };
        let worst = |screw: &Screw<'_>| -> Result<Vec<(Check, &OnBolts)>, ElementError> {
            let mut all: Vec<(Check, &OnBolts)> = Vec::new();
            for (bears, on) in &shares {
                for one in bears {
                    for check in screw.checks(one, mu, works)? {
                        match all.iter_mut().find(|(c, _)| c.what == check.what) {
                            Some(known) if check.factor() < known.0.factor() => {
                                *known = (check, on)
                            }
                            Some(_) => {}
                            None => all.push((check, on)),
                        }
                    }
                }
            }
            Ok(all)
        };
        let factor = self.factor();
        for (check, on) in worst(&screw)? {
            let peak = Peak {
                value: check.acts,
                case: on.case,
                drives: on.drives.clone(),
            };
            draft
                .item
                .checks
                .push(self.check(&check, wanted(&check, factor), Some(&peak)));
        }
        let most = shares
            .iter()
            .flat_map(|(bears, _)| bears)
            .fold([0.0f64; 2], |m, b| [m[0].max(b.across), m[1].max(b.pull)]);
        let text = format!(
            "the hardest pressed bolt: {} across, {} of pull",
            say::value(most[0], "N", machine),
            say::value(most[1], "N", machine)
        );
        draft.item.figures.push(self.figure(
            "share of one bolt",
            most[0],
            "N",
            group::SOURCE,
            text,
        ));
        let sizes: Vec<(f64, f64, String)> = if bolts.thread.inch {
            UNC.iter()
                .map(|(name, d, n)| (25.4 * d, 25.4 / n, (*name).to_owned()))
                .collect()
        } else {
            COARSE
                .iter()
                .map(|(d, p)| (*d, *p, format!("M{d}")))
                .collect()
        };
        // Another size is tightened to its own three quarters.
        let free = Bolts {
            torque: None,
            ..bolts.clone()
        };
        // Nobody bolts machines together with less, unless the file does (common practice).
        let thinnest = bolts.thread.major.min(THIN);
        let best = sizes
            .into_iter()
            .filter(|s| s.0 >= thinnest - 0.01)
            .find(|(d, p, _)| {
                let holds = into.is_none_or(|(m, engaged)| {
                    strips(bolts, *d, *p, m, engaged).is_none_or(|c| c.passes(1.0))
                });
                let presses = |s: &Screw<'_>| {
                    clamped.is_none_or(|bears| {
                        head_pressure(s.major, (1.0 + s.scatter) * s.preload, bears)
                            .is_ok_and(|c| c.passes(1.0))
                    })
                };
                holds
                    && Screw::new(&free, *d, *p, member).is_ok_and(|s| {
                        presses(&s)
                            && worst(&s).is_ok_and(|all| {
                                all.iter().all(|(c, _)| c.passes(wanted(c, factor)))
                            })
                    })
            });
        let smaller = best
            .as_ref()
            .is_some_and(|b| b.0 < bolts.thread.major - 0.01);
        if best.is_none() {
            draft.instead = self.bolted_better(draft, into.map(|i| i.1));
        }
        draft.would_do(
            best.map(|(_, _, name)| format!("{name} of {} in the same places", bolts.class)),
            "coarse screws of this class up to an inch in the same places",
            smaller,
        );
        Ok(())
    }

    /// What mends each check that is missed, where no other screw does.
    fn bolted_better(&self, draft: &Draft, engaged: Option<f64>) -> Option<String> {
        let mut all = Vec::new();
        for check in draft.item.checks.iter().filter(|c| !c.passes) {
            let mends = if check.what.contains("stripping") {
                // The thread bears by its length.
                let needed = engaged.zip(check.factor).map(|(e, f)| e * check.wanted / f);
                let deeper = needed.map(|n| say::size(n.ceil(), self.machine));
                deeper.map_or_else(
                    || String::from("a screw of a lower class"),
                    |long| {
                        format!(
                            "screw them in {long} (`engaged = \"{long}\"`), or take a lower class or a thread insert"
                        )
                    },
                )
            } else if check.what.contains("head") {
                String::from("a hard washer under the head, or a screw of a lower class")
            } else {
                String::from("dowels or a step that takes the push, or more screws")
            };
            if !all.contains(&mends) {
                all.push(mends);
            }
        }
        (!all.is_empty()).then(|| all.join("; "))
    }

    /// Bolts that cannot bear a twist or tilt at all.
    fn wrenched(&mut self, draft: &Draft, bolts: &Bolts, poses: &[OnBolts]) {
        let size = |a: &Acts| a.twist.abs().max(a.tilt[0].hypot(a.tilt[1]));
        let most = poses.iter().map(|p| size(&p.acts)).fold(0.0, f64::max);
        let how = if bolts.at.len() == 1 {
            "a single bolt bears no twist and no tilt"
        } else {
            "bolts in one row bear no tilt about that row"
        };
        let sentence = format!(
            "{}, {}: the load is off their middle by {}, and {how}",
            draft.item.what,
            draft.item.at,
            say::value(most, "N·mm", self.machine)
        );
        let try_this = if bolts.at.len() == 1 {
            "two bolts or more, or a dowel beside it"
        } else {
            "set a bolt off the row, or bring the load into it (`out`)"
        };
        self.say(Severity::Fault, draft, sentence, Some(try_this.to_owned()));
    }

    /// Heads that foul, and bolts beyond the edge.
    fn spaced(&mut self, draft: &Draft, bolts: &Bolts) {
        let machine = self.machine;
        let mut least = f64::INFINITY;
        for (i, a) in bolts.at.iter().enumerate() {
            for b in bolts.at.iter().skip(i + 1) {
                least = least.min((a[0] - b[0]).hypot(a[1] - b[1]));
            }
        }
        let d = bolts.thread.major;
        if least < APART * d {
            let severity = if least <= 1.5 * d {
                Severity::Fault
            } else {
                Severity::Caution
            };
            let sentence = format!(
                "{}, {}: they stand {} apart: {}",
                draft.item.what,
                draft.item.at,
                say::close(least, machine),
                if severity == Severity::Fault {
                    "next to nothing is left between the holes"
                } else {
                    "heads and spanner foul (common practice: 2.5 diameters)"
                }
            );
            let wide = say::size((APART * d).ceil(), machine);
            self.say(
                severity,
                draft,
                sentence,
                Some(format!(
                    "{wide} from bolt to bolt, fewer bolts, or thinner ones"
                )),
            );
        }
        if bolts.along.is_none()
            && bolts.part != FRAME
            && let Some(stock) = stock(machine, bolts.part)
        {
            let [thick, _] = sides(stock.section);
            if bolts.grip > 3.0 * thick {
                let sentence = format!(
                    "{}, {}: `grip` is {} and the part is {} thick",
                    draft.item.what,
                    draft.item.at,
                    say::size(bolts.grip, machine),
                    say::size(thick, machine)
                );
                self.say(
                    Severity::Caution,
                    draft,
                    sentence,
                    Some(String::from(
                        "`grip` is the thickness between head and thread",
                    )),
                );
            }
        }
    }
}
