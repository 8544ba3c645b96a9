//! Teeth of gears and racks: module or diametral pitch, face, pressure angle, profile shift, backlash.

use crate::desk::Desk;
use crate::fields::{Field, Fields};
use crate::fitting::Teeth;
use elements::gears::module_of_pitch;

/// The key and an example of each, for the shapes of gear pairs and racks.
pub(crate) const KEYS: [(&str, &str); 6] = [
    ("module", "module = \"2 mm\""),
    ("diametral-pitch", "diametral-pitch = 12"),
    ("face", "face = \"16 mm\""),
    ("pressure-angle", "pressure-angle = \"20 deg\""),
    ("shift", "shift = [0.3, 0]"),
    ("backlash", "backlash = \"0.08 mm\""),
];

/// Modules and diametral pitches that anybody cuts.
const MODULE: (f64, f64) = (0.1, 50.0);

/// Something is wrong, and it was said.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Told;

/// The teeth, when the file gives their size.
pub(crate) fn teeth(desk: &mut Desk, fields: &Fields) -> Result<Option<Teeth>, Told> {
    let (module, pitch) = (fields.get("module"), fields.get("diametral-pitch"));
    let (size, by_pitch) = match (module, pitch) {
        (Some(first), Some(second)) => {
            fields.clash(desk, &first, &second);
            return Err(Told);
        }
        (Some(f), None) => (f, false),
        (None, Some(f)) => (f, true),
        (None, None) => {
            let rest = ["face", "pressure-angle", "shift", "backlash"];
            let lost = rest.into_iter().any(|key| fields.get(key).is_some());
            fields.only_with(desk, &rest, "`module` or `diametral-pitch`");
            return if lost { Err(Told) } else { Ok(None) };
        }
    };
    let module = size_of(desk, &size, by_pitch);
    let face = fields.get("face").map(|f| f.positive_length(desk));
    let angle = fields
        .get("pressure-angle")
        .map_or(Some(20f64.to_radians()), |f| pressure_angle(desk, &f));
    let shift = fields
        .get("shift")
        .map_or(Some([0.0; 2]), |f| shift(desk, &f));
    let backlash = fields.get("backlash").map_or(Some(0.0), |f| {
        let x = f.length(desk)?;
        if x >= 0.0 {
            return Some(x);
        }
        f.bad(
            desk,
            "teeth are cut thinner for backlash, never thicker",
            "write how much thinner, both gears together: `backlash = \"0.08 mm\"`",
        );
        None
    });
    let all = || -> Option<Teeth> {
        Some(Teeth {
            module: module?,
            by_pitch,
            face: match face {
                Some(face) => Some(face?),
                None => None,
            },
            pressure_angle: angle?,
            shift: shift?,
            backlash: backlash?,
        })
    };
    all().map(Some).ok_or(Told)
}

fn size_of(desk: &mut Desk, field: &Field, by_pitch: bool) -> Option<f64> {
    let module = if by_pitch {
        let pitch = field.number(desk)?;
        module_of_pitch(pitch).ok().unwrap_or(0.0)
    } else {
        field.positive_length(desk)?
    };
    if (MODULE.0..=MODULE.1).contains(&module) {
        return Some(module);
    }
    let (message, help) = if by_pitch {
        (
            "teeth of this diametral pitch are cut by nobody",
            "it is the number of teeth for an inch of pitch diameter: 0.6 to 250, 12 or 16 in a small machine",
        )
    } else {
        (
            "teeth of this module are cut by nobody",
            "a module is the pitch diameter over the teeth: 0.1 to 50 mm, 1 or 2 in a small machine",
        )
    };
    field.bad(desk, message, help);
    None
}

fn pressure_angle(desk: &mut Desk, field: &Field) -> Option<f64> {
    let angle = field.angle(desk)?;
    if (14f64.to_radians()..=30f64.to_radians()).contains(&angle) {
        return Some(angle);
    }
    field.bad(
        desk,
        format!(
            "no cutter has a pressure angle of {:.1} deg",
            angle.to_degrees()
        ),
        "write that of the cutter: \"20 deg\", or \"14.5 deg\" of old ones",
    );
    None
}

fn shift(desk: &mut Desk, field: &Field) -> Option<[f64; 2]> {
    let one = |desk: &mut Desk, f: &Field| {
        let x = f.number(desk)?;
        if (-1.0..=1.5).contains(&x) {
            return Some(x);
        }
        f.bad(
            desk,
            format!("a profile shift of {x} modules leaves no tooth"),
            "write 0 for a standard tooth; 0.3 to 0.5 keeps a small pinion from being undercut",
        );
        None
    };
    if !field.is_list() {
        return one(desk, field).map(|x| [x, 0.0]);
    }
    let [a, b] = field.pair(desk, "two profile shifts, each over the module")?;
    let (a, b) = (one(desk, &a), one(desk, &b));
    Some([a?, b?])
}
