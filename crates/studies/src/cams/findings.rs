//! What a machinist would say of the shape of a cam.

use super::room::{FULL_RIM, Tight, tight};
use super::{allowed, least_circle, pieces, shape};
use crate::answers::{Finding, Inside, Severity};
use crate::assemble::Model;
use crate::assemble::cams::Shape;
use elements::cams::{Follower, survey};
use machine::model::Cam;
use std::f64::consts::TAU;

struct Says<'m> {
    model: &'m Model,
    cam: &'m Cam,
    findings: Vec<Finding>,
}

impl Says<'_> {
    fn add(
        &mut self,
        severity: Severity,
        sentence: &str,
        number: f64,
        inside: Inside,
        margin: Option<f64>,
        what_to_try: Option<String>,
    ) {
        self.findings.push(Finding {
            severity,
            sentence: format!("cam {}: {sentence}", self.cam.name),
            number: Some(number),
            margin,
            inside: Some(inside),
            what_to_try,
            about: format!("cam.{}", self.cam.name),
            place: self.cam.place,
        });
    }

    fn no_room(&mut self, tight: Tight) {
        let (sentence, number, margin, to_try) = match tight {
            Tight::Stock { reaches, stock } => (
                format!(
                    "its {} runs out to {} from its centre, its stock to {}",
                    if self.cam.track { "track" } else { "flank" },
                    self.mm(reaches),
                    self.mm(stock)
                ),
                reaches,
                stock - reaches,
                format!("take stock of more than {} across", self.mm(2.0 * reaches)),
            ),
            Tight::Shaft { comes, shaft } => (
                format!(
                    "its flank comes to {} of its centre, where its shaft has a radius of {}: nothing is left of it there",
                    self.mm(comes),
                    self.mm(shaft)
                ),
                comes,
                comes - shaft,
                String::from(
                    "draw the roller farther from the cam's centre, or take a thinner shaft",
                ),
            ),
            Tight::Teeth {
                reaches,
                root,
                deep,
            } => (
                if reaches < root {
                    format!(
                        "{} of metal stand between its track and the roots of the wheel's teeth, {} deep: a full rim is {} of it (ISO 6336-3)",
                        self.mm(root - reaches),
                        self.mm(deep),
                        self.mm(FULL_RIM * deep)
                    )
                } else {
                    format!(
                        "its track runs out to {} from its centre, the wheel's teeth go down to {}: it cuts through them",
                        self.mm(reaches),
                        self.mm(root)
                    )
                },
                root - reaches,
                root - reaches - FULL_RIM * deep,
                format!(
                    "let the roller run {} nearer to the centre, or give the wheel more teeth",
                    self.mm(FULL_RIM * deep - (root - reaches))
                ),
            ),
            Tight::Pivot {
                reaches,
                pin,
                layers,
            } => (
                format!(
                    "its flank runs out to {} from its centre, and the pin of its rocker's pivot begins at {}{}",
                    self.mm(reaches),
                    self.mm(pin),
                    if layers {
                        ""
                    } else {
                        ": it runs over it, if the pin goes through its layer; no `station` says otherwise"
                    }
                ),
                reaches,
                pin - reaches,
                String::from(
                    "put the pivot farther off, a thinner pin, or write the `station` of cam and rocker if the rocker lies beside it",
                ),
            ),
            Tight::Within { stations, thick } => {
                let off = (stations[1] - stations[0]).abs();
                (
                    format!(
                        "its follower lies at station {} in the disc that the track is cut in, at {}: with {} and {} they want {} from middle to middle",
                        self.mm(stations[1]),
                        self.mm(stations[0]),
                        self.mm(thick[1]),
                        self.mm(thick[0]),
                        self.mm(0.5 * (thick[0] + thick[1]))
                    ),
                    off,
                    off - 0.5 * (thick[0] + thick[1]),
                    String::from(
                        "write a `station` of the follower beside the disc; the roller's stud reaches into the track",
                    ),
                )
            }
            Tight::Beside { stations, thick } => {
                let off = (stations[1] - stations[0]).abs();
                (
                    format!(
                        "it stands at station {} and its roller at {}: with {} of the one and {} of the other they run beside one another",
                        self.mm(stations[0]),
                        self.mm(stations[1]),
                        self.mm(thick[0]),
                        self.mm(thick[1])
                    ),
                    off,
                    0.5 * (thick[0] + thick[1]) - off,
                    String::from("write the `station` of the roller's point, or of the cam"),
                )
            }
        };
        // Below half a depth the standard reckons no rim at all.
        let thin = matches!(tight, Tight::Teeth { reaches, root, deep } if reaches < root && root - reaches < 0.5 * deep);
        let severity = if thin {
            Severity::Miss
        } else if matches!(
            tight,
            Tight::Beside { .. } | Tight::Pivot { layers: false, .. }
        ) || matches!(tight, Tight::Teeth { reaches, root, .. } if reaches < root)
        {
            Severity::Caution
        } else {
            Severity::Fault
        };
        self.add(
            severity,
            &sentence,
            number,
            Inside::Millimetre,
            Some(margin),
            Some(to_try),
        );
    }

    fn mm(&self, x: f64) -> String {
        crate::say::short(x, self.model.machine.unit)
    }
}

fn deg(angle: f64) -> String {
    format!("{:.1} deg", angle.to_degrees())
}

/// What helps where no circle does.
fn no_circle(shape: &Shape, steepest: f64) -> String {
    let piece = pieces(&shape.program)
        .into_iter()
        .find(|p| p.what != "curve" && (p.from..=p.to).contains(&steepest.rem_euclid(TAU)));
    let longer = piece.map_or_else(
        || String::from("let it take more of the turn"),
        |p| {
            format!(
                "let the {} from {} to {} take more of the turn",
                p.what,
                deg(p.from),
                deg(p.to)
            )
        },
    );
    match shape.follower {
        Follower::Rocker { .. } => format!(
            "no circle does: swing it less, {longer}, or try a longer arm, another pivot, or the cam turning the other way"
        ),
        _ => {
            format!("no circle does: lift it less, {longer}, or set the slide aside of the centre")
        }
    }
}

/// Shapes that cannot be, that bind, or that strike.
pub fn findings(model: &Model) -> Vec<Finding> {
    let mut all = Vec::new();
    for (i, cam) in model.machine.cams.iter().enumerate() {
        let Some(shape) = shape(model, i) else {
            continue;
        };
        let mut says = Says {
            model,
            cam,
            findings: Vec::new(),
        };
        match survey(shape.follower, &shape.program) {
            Ok(seen) => {
                let (limit, whose) = allowed(model, i);
                let roller = shape.follower.roller();
                let steep = seen.steepest.pressure.abs();
                let (undercut, cornered) =
                    (seen.undercut(roller), cam.track && seen.cornered(roller));
                let larger = (steep > limit || undercut).then(|| {
                    match least_circle(shape, limit) {
                        Some(circle) => format!(
                            "a circle of {} does (the roller's centre runs on {} without lift): draw the roller farther from the cam's centre, or let rises take more of the turn",
                            says.mm(circle),
                            says.mm(shape.follower.circle())
                        ),
                        None => no_circle(shape, seen.steepest.angle),
                    }
                });
                if steep > limit {
                    let sentence = format!(
                        "the pressure angle comes to {} at {} of its program, where {} are allowed ({whose})",
                        deg(steep),
                        deg(seen.steepest.angle.rem_euclid(TAU)),
                        deg(limit)
                    );
                    says.add(
                        Severity::Miss,
                        &sentence,
                        steep,
                        Inside::Radian,
                        Some(limit - steep),
                        larger.clone(),
                    );
                }
                if let (true, Some(sharp)) = (undercut, seen.sharpest) {
                    let sentence = format!(
                        "it is undercut: its roller of {} diameter does not go over the bulge of {} radius at {} of its program, and the follower does not keep to it",
                        says.mm(cam.diameter),
                        says.mm(sharp.radius),
                        deg(sharp.angle.rem_euclid(TAU))
                    );
                    says.add(
                        Severity::Fault,
                        &sentence,
                        sharp.radius,
                        Inside::Millimetre,
                        Some(sharp.radius - roller),
                        larger,
                    );
                }
                if let (true, Some(hollow)) = (cornered, seen.hollowest) {
                    let sentence = format!(
                        "its track has a corner in the outer flank: the roller's path is hollow by {} radius at {} of its program, the roller has {}",
                        says.mm(-hollow.radius),
                        deg(hollow.angle.rem_euclid(TAU)),
                        says.mm(roller)
                    );
                    says.add(
                        Severity::Fault,
                        &sentence,
                        -hollow.radius,
                        Inside::Millimetre,
                        Some(-hollow.radius - roller),
                        Some(String::from(
                            "take a smaller roller, or let the motion there take more of the turn",
                        )),
                    );
                }
                if let (Some(cutter), Some(hollow)) = (cam.cutter, seen.hollowest) {
                    let inner = roller - hollow.radius;
                    if 0.5 * cutter > inner {
                        let sentence = format!(
                            "a cutter of {} does not go into its hollow of {} radius at {} of its program",
                            says.mm(cutter),
                            says.mm(inner),
                            deg(hollow.angle.rem_euclid(TAU))
                        );
                        says.add(
                            Severity::Fault,
                            &sentence,
                            inner,
                            Inside::Millimetre,
                            Some(inner - 0.5 * cutter),
                            Some(format!("cut it with {} or less", says.mm(2.0 * inner))),
                        );
                    }
                }
                if cam.track && cam.cutter.is_some_and(|c| c > cam.diameter) {
                    let sentence = format!(
                        "a cutter of {} does not go into a track for a roller of {}",
                        says.mm(cam.cutter.unwrap_or_default()),
                        says.mm(cam.diameter)
                    );
                    says.add(
                        Severity::Fault,
                        &sentence,
                        cam.diameter,
                        Inside::Millimetre,
                        None,
                        Some(String::from("take one of the roller's diameter or less")),
                    );
                }
            }
            Err(error) => {
                let sentence = format!("its shape cannot be: {error}");
                says.add(Severity::Fault, &sentence, 0.0, Inside::Count, None, None);
            }
        }
        for tight in tight(model, i, cam) {
            says.no_room(tight);
        }
        for jump in cam.program.jumps() {
            let sentence = format!(
                "its acceleration steps at {} of its program: it strikes there once a turn, the harder the faster it goes",
                deg(jump.at)
            );
            says.add(
                Severity::Note,
                &sentence,
                jump.at,
                Inside::Radian,
                None,
                Some(String::from("law \"cycloidal\", \"modified sine\", \"3-4-5\" or \"4-5-6-7\" begins and ends without a step")),
            );
        }
        all.extend(says.findings);
    }
    all
}
