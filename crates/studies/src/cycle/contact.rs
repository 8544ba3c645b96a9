//! How hard rollers and cams press on one another over the turn, at speed.

use crate::assemble::Joint;
use crate::load::answers::LoadRow;
use crate::load::rig::{Found, Rig};
use crate::load::service::flank;
use crate::run::Here;
use elements::contact::{Body, line};
use machine::work::{JointAt, Material};
use schemars::JsonSchema;
use serde::Serialize;

/// A hard roller: bearing steel (elastic constants as of steel).
const HARD: [f64; 2] = [207_000.0, 0.292];
/// Less than this is rounding, N.
const FAINT: f64 = 1e-6;

/// A roller on its flank at one place of the turn.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ContactSpot {
    /// Value of the drive, on its dial.
    pub at: f64,
    /// How hard they press on one another, friction counted, N.
    pub force: f64,
    /// On the outer flank of a track; else on the inner one.
    pub outer: bool,
    /// Radius of the flank, mm; below nothing where it is hollow.
    pub radius: f64,
    /// Greatest pressure there, MPa (Hertz, line contact); none without a `face`.
    pub pressure: Option<f64>,
}

/// A cam and its roller over the turn.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamContact {
    /// The cam.
    pub cam: String,
    /// Where something presses.
    pub places: Vec<ContactSpot>,
    /// Where the pressure is greatest.
    pub hardest: Option<ContactSpot>,
}

/// Of every cam that something presses on. `rows` are places of the drive on its dial, where the machine stands there, and what acts at speed.
pub(super) fn pressed(
    rig: &Rig<'_>,
    rows: &[(f64, Option<&Here>, Option<&LoadRow>)],
) -> Vec<CamContact> {
    let machine = &rig.model.machine;
    let mut all = Vec::new();
    for (j, found) in rig.found.iter().enumerate() {
        let Found::Slot(constraint) = *found else {
            continue;
        };
        let Some(Joint::Cam(index)) = rig.model.joints.get(constraint) else {
            continue;
        };
        let Some(cam) = machine.cams.get(*index) else {
            continue;
        };
        let elastic = |m: &Material| [m.modulus, m.poisson];
        let named = |m: usize| machine.work.materials.get(m).map(elastic);
        let stock = machine
            .work
            .parts
            .get(cam.part)
            .and_then(|p| p.stock.as_ref());
        let own = stock.and_then(|s| named(s.material));
        let flanks = own.unwrap_or(HARD);
        let entry = rig.entry(JointAt::Cam(*index));
        let roller = entry.and_then(|e| named(e.material?)).unwrap_or(HARD);
        let places: Vec<ContactSpot> = rows
            .iter()
            .filter_map(|(at, here, row)| {
                let (here, row) = ((*here)?, (*row)?);
                let on = row.joints.get(j).filter(|on| on.most > FAINT)?;
                let radius = flank(rig, *index, constraint, here, on.value)?;
                let pressure = cam.face.and_then(|face| {
                    let body = |radius: f64, [youngs, poisson]: [f64; 2]| Body {
                        radius,
                        youngs,
                        poisson,
                    };
                    let touch = line(
                        body(0.5 * cam.diameter, roller),
                        body(radius, flanks),
                        face,
                        on.most,
                    );
                    touch.ok().map(|t| t.pressure)
                });
                Some(ContactSpot {
                    at: *at,
                    force: on.most,
                    outer: on.value < 0.0,
                    radius,
                    pressure,
                })
            })
            .collect();
        let hardest = places
            .iter()
            .copied()
            .filter(|p| p.pressure.is_some())
            .reduce(|a, b| if b.pressure > a.pressure { b } else { a });
        if !places.is_empty() {
            all.push(CamContact {
                cam: cam.name.clone(),
                places,
                hardest,
            });
        }
    }
    all
}
