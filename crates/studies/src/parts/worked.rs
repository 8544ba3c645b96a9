//! Springs that work by the minute: between which lengths, how often, and what of them tires.

use super::study::Study;
use super::tires::often;
use elements::springs::compression::Compression;
use elements::springs::extension::Extension;
use elements::springs::fatigue::{bending, hook, known, shear};
use elements::springs::torsion::Torsion;
use elements::{Check, ElementError};
use machine::work::SpringKind;

/// A drive that moves a spring less than this, mm or rad, does not work it.
const STILL: f64 = 1e-6;

/// What a spring goes through again and again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Works {
    /// Between these lengths, mm, or turns from where it is slack, rad.
    between: [f64; 2],
    /// How often.
    loads: f64,
}

impl Study<'_> {
    /// What works a spring by the minute, the widest of the drives that do; none where none does.
    pub(super) fn spring_works(&self, index: usize) -> Option<Works> {
        let spring = self.machine.work.springs.get(index)?;
        let wire = spring.coil.as_ref().map(|c| c.material);
        let wire = wire.or(spring.room.as_ref().map(|r| r.material))?;
        if !known(wire.family) {
            return None;
        }
        let slack = match spring.kind {
            SpringKind::Torsion { slack, .. } => slack,
            SpringKind::Between { .. } => 0.0,
        };
        let worked = self.working.springs.get(index)?.worked.iter();
        worked
            .filter(|(_, [low, high])| high - low > STILL)
            .filter_map(|(drive, [low, high])| {
                let n = self
                    .machine
                    .work
                    .per_minute
                    .get(*drive)
                    .copied()
                    .flatten()?;
                Some(Works {
                    between: [low - slack, high - slack],
                    loads: self.loads_wanted(n),
                })
            })
            .max_by(|a, b| {
                let wide = |w: &Works| w.between[1] - w.between[0];
                wide(a).total_cmp(&wide(b))
            })
    }
}

impl Works {
    pub(super) fn words(&self) -> String {
        format!(
            "it works {}: wire not peened, wound and set as usual",
            often(self.loads)
        )
    }

    pub(super) fn compression(&self, spring: &Compression) -> Result<Vec<Check>, ElementError> {
        let solid = spring.figures()?.solid;
        let at = |length: f64| spring.at(length.clamp(solid, spring.free), false);
        let [most, least] = [at(self.between[0])?.stress, at(self.between[1])?.stress];
        let tensile = spring.material.tensile(spring.wire)?.least;
        Ok(vec![shear(
            "fatigue of the spring",
            [least, most],
            tensile,
            self.loads,
        )?])
    }

    /// `slack` is the length at which its pull would be nothing.
    pub(super) fn extension(
        &self,
        spring: &Extension,
        slack: f64,
    ) -> Result<Vec<Check>, ElementError> {
        let rate = spring.figures()?.rate;
        let at = |length: f64| spring.at((rate * (length - slack)).max(0.0));
        let [least, most] = [at(self.between[0])?.checks, at(self.between[1])?.checks];
        let tensile = spring.material.tensile(spring.wire)?.least;
        let both = |i: usize| [least[i].acts, most[i].acts];
        Ok(vec![
            shear("fatigue of the spring's body", both(0), tensile, self.loads)?,
            hook(
                "fatigue of the spring's hook in bending",
                both(1),
                tensile,
                self.loads,
            )?,
            shear(
                "fatigue of the spring's hook in shear",
                both(2),
                tensile,
                self.loads,
            )?,
        ])
    }

    pub(super) fn torsion(&self, spring: &Torsion, rate: f64) -> Result<Vec<Check>, ElementError> {
        let [a, b] = self.between.map(|turn| rate * turn);
        let at = |moment: f64| Ok::<f64, ElementError>(spring.at(moment.abs(), 0.0)?.check.acts);
        // Turned both ways past where it is slack it is bent both ways.
        let least = if a * b < 0.0 {
            0.0
        } else {
            at(a.abs().min(b.abs()))?
        };
        let most = at(a.abs().max(b.abs()))?;
        let tensile = spring.material.tensile(spring.wire)?.least;
        Ok(vec![bending(
            "fatigue of the spring",
            [least, most],
            tensile,
            self.loads,
        )?])
    }
}
