//! Values of drives and settings as somebody writes them: "set = 30 deg", "front-rod = half turn".

use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::near;
use crate::say;
use machine::model::Adjusts;
use machine::nearest;
use quantity::{Kind, Unit};
use std::f64::consts::TAU;

/// So far a drive is followed from where it is drawn, turns.
const MOST_TURNS: f64 = 100.0;

/// A drive to be moved: from, to, and the step of the table. Readings by index; none asks for all.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweep {
    /// Index of the drive.
    pub drive: usize,
    /// First value; the start of its range when not given.
    pub from: Option<f64>,
    /// Last value; the end of its range when not given.
    pub to: Option<f64>,
    /// Step of the table; always positive.
    pub step: Option<f64>,
    /// Readings in the table; all when empty.
    pub readings: Vec<usize>,
}

impl Model {
    /// Puts a drive or a setting to a written value.
    ///
    /// # Errors
    /// An unknown name (with the nearest one), a text that is no value of its kind, a value outside its range.
    pub fn set(&self, stand: &mut Stand, name: &str, value: &str) -> Result<(), Refusal> {
        let name = name.trim();
        if let Some(drive) = self.machine.drives.iter().position(|d| d.name == name) {
            stand.drives[drive] = self.drive_value(drive, value)?;
            return Ok(());
        }
        if let Some(setting) = self.machine.settings.iter().position(|s| s.name == name) {
            stand.settings[setting] = self.setting_value(setting, value)?;
            return Ok(());
        }
        Err(self.unknown(name))
    }

    /// The same from one text: "set = 30 deg".
    ///
    /// # Errors
    /// As [`Model::set`], and a text without "=".
    pub fn set_pair(&self, stand: &mut Stand, text: &str) -> Result<(), Refusal> {
        let Some((name, value)) = text.split_once('=') else {
            return Err(Refusal::new(
                format!("\"{text}\" is not a name with its value"),
                "write the drive or setting, \"=\" and the value, as in \"set = 30 deg\"",
            ));
        };
        self.set(stand, name, value)
    }

    /// A sweep of a drive from written values.
    ///
    /// # Errors
    /// As [`Model::set`]; a step that is not positive.
    pub fn sweep(
        &self,
        drive: &str,
        from: Option<&str>,
        to: Option<&str>,
        step: Option<&str>,
    ) -> Result<Sweep, Refusal> {
        let name = drive.trim();
        let Some(drive) = self.machine.drives.iter().position(|d| d.name == name) else {
            return Err(self.unknown_drive(name));
        };
        let value = |text: Option<&str>| text.map(|t| self.drive_value(drive, t)).transpose();
        let (from, to) = (value(from)?, value(to)?);
        let (kind, bare) = self.drive_kind(drive);
        let step = step.map(|t| written(t, kind, bare)).transpose()?;
        if let Some(step) = step.filter(|s| !(s.is_finite() && *s > 0.0)) {
            let shown = say::short(step, self.machine.drives[drive].unit);
            return Err(Refusal::new(
                format!("a step of {shown} leads nowhere"),
                "write a step greater than nothing",
            ));
        }
        Ok(Sweep {
            drive,
            from,
            to,
            step,
            readings: Vec::new(),
        })
    }

    fn unknown(&self, name: &str) -> Refusal {
        let drives = self.machine.drives.iter().map(|d| d.name.as_str());
        let settings = self.machine.settings.iter().map(|s| s.name.as_str());
        let known: Vec<&str> = drives.chain(settings).collect();
        missing("drive or setting", name, &known)
    }

    fn unknown_drive(&self, name: &str) -> Refusal {
        let known: Vec<&str> = self
            .machine
            .drives
            .iter()
            .map(|d| d.name.as_str())
            .collect();
        missing("drive", name, &known)
    }

    fn drive_kind(&self, drive: usize) -> (Kind, Unit) {
        if crate::run::turns(self, drive) {
            (Kind::Angle, Unit::Degree)
        } else {
            (Kind::Length, self.machine.unit)
        }
    }

    fn drive_value(&self, drive: usize, text: &str) -> Result<f64, Refusal> {
        let (kind, bare) = self.drive_kind(drive);
        let value = written(text, kind, bare)?;
        let d = &self.machine.drives[drive];
        if kind == Kind::Angle && (value - d.drawn).abs() > MOST_TURNS * TAU {
            return Err(Refusal::new(
                format!("drive {} is turned a hundred times at most", d.name),
                "after a whole turn it stands as before; write an angle within one",
            ));
        }
        if let (Some(range), false) = (d.range, d.whole_turn) {
            let show = |v| say::short(v, d.unit);
            in_range(text, "drive", &d.name, value, range, show)?;
        }
        Ok(value)
    }

    fn setting_value(&self, setting: usize, text: &str) -> Result<f64, Refusal> {
        let s = &self.machine.settings[setting];
        let quantity = self.setting(setting);
        let value = match s.adjusts {
            Adjusts::Rod(rod) => self.rod_value(rod, text)?,
            Adjusts::Shim { .. } => written(text, Kind::Length, self.machine.unit)?,
            Adjusts::Clock(_) => written(text, Kind::Angle, Unit::Degree)?,
            Adjusts::Stop(stop) => {
                let unit = self.machine.readings[self.machine.stops[stop].reading].unit;
                let bare = if unit.kind() == Kind::Angle {
                    Unit::Degree
                } else {
                    self.machine.unit
                };
                written(text, unit.kind(), bare)?
            }
            Adjusts::Row(row) => {
                let count = self.machine.rows[row].holes.len();
                let number = written(text, Kind::Count, Unit::One)?;
                if !(number >= 1.0 && number <= count as f64 && number.fract() == 0.0) {
                    return Err(Refusal::new(
                        format!("{} has no hole number {}", s.name, text.trim()),
                        format!("write a whole number from 1 to {count}"),
                    ));
                }
                number
            }
        };
        if let Some(range) = s.range {
            let show = |v| say::short(v, quantity.unit);
            in_range(text, "setting", &s.name, value, range, show)?;
        }
        Ok(value)
    }

    /// A length, or turns of the rod's thread.
    fn rod_value(&self, rod: usize, text: &str) -> Result<f64, Refusal> {
        let rod = &self.machine.rods[rod];
        let as_length = written(text, Kind::Length, self.machine.unit);
        let Some(pitch) = turn_of_rod(rod) else {
            return as_length;
        };
        as_length.or_else(|refusal| {
            written(text, Kind::Angle, Unit::Turn)
                .map(|angle| angle / TAU * pitch)
                .map_err(|_| refusal)
        })
    }
}

/// How much longer a threaded rod gets by one turn, mm.
pub(crate) fn turn_of_rod(rod: &machine::model::Rod) -> Option<f64> {
    rod.lead()
}

fn written(text: &str, kind: Kind, bare: Unit) -> Result<f64, Refusal> {
    let read = quantity::parse(text, kind, bare).map_err(|e| Refusal::new(e.message, e.help))?;
    if read.value.is_finite() {
        Ok(read.value)
    } else {
        Err(Refusal::new(format!("\"{text}\" is not a number"), ""))
    }
}

fn in_range(
    text: &str,
    kind: &str,
    name: &str,
    value: f64,
    range: [f64; 2],
    show: impl Fn(f64) -> String,
) -> Result<(), Refusal> {
    let (low, high) = (range[0].min(range[1]), range[0].max(range[1]));
    if value < low - near(low) || value > high + near(high) {
        // Rounded, a value just outside looks like the end of the range itself.
        let (mut shown, ends) = (show(value), [show(low), show(high)]);
        if ends.contains(&shown) {
            text.trim().clone_into(&mut shown);
        }
        return Err(Refusal::new(
            format!("{shown} is outside the range of {kind} {name}"),
            format!("write a value from {} to {}", ends[0], ends[1]),
        ));
    }
    Ok(())
}

fn missing(what: &str, name: &str, known: &[&str]) -> Refusal {
    let help = match (nearest(name, known.iter().copied()), known) {
        (Some(near), _) => format!("perhaps \"{near}\" is meant"),
        (None, []) => format!("the machine has no {what}"),
        (None, known) => format!("there is {}", known.join(", ")),
    };
    Refusal::new(format!("there is no {what} \"{name}\""), help)
}
