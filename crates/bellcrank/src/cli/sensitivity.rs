//! `bellcrank sensitivity`.

use std::fmt::Write as _;

use studies::{Effects, HandEffect, Sensitivities};

use super::args::Sensitivity;
use super::fault::Fault;
use super::numbers::{named, rate, rate_unit, signed_with_unit, standing, with_unit};
use super::over::{self, Over};
use super::progress::during;
use super::question::{self, Read};
use super::report::Answer;
use super::table::{Column, lay_out, wrap};
use super::{Done, WIDTH, Worked};
use quantity::Unit;
use studies::Inside;

pub(crate) fn run(args: &Sensitivity, json: bool) -> Result<Done, Fault> {
    let read = question::read(&args.file)?;
    let worked = during("working out what each dimension does", || {
        question::within(&read, on(args, &read))
    })?;
    Ok(worked.done(&read, json))
}

/// Works out what each dimension of a machine does that was read.
pub(crate) fn on(args: &Sensitivity, read: &Read) -> Result<Worked, Fault> {
    let readings = question::readings(&read.machine, &args.readings)?;
    let stand = question::stand(read, &args.pose)?;
    let answer = studies::sensitivity(&read.model, &stand, &readings).map_err(Fault::machine)?;
    Ok(Worked {
        exit: read.judge(),
        text: text(&answer, &read.over, args.most, read.machine.unit),
        answer: Answer::Sensitivity(answer),
    })
}

/// The unit in which a dimension is read: lengths in that of the machine.
fn unit_of(inside: Inside, length: Unit) -> Unit {
    match inside {
        Inside::Millimetre => length,
        Inside::Radian => Unit::Degree,
        Inside::Count => Unit::One,
        Inside::Newton => Unit::Newton,
        Inside::NewtonMillimetre => Unit::NewtonMillimetre,
    }
}

pub(super) fn text(answer: &Sensitivities, over: &[Over], most: usize, length: Unit) -> String {
    let place = standing(&answer.held).map_or(String::new(), |place| format!(", {place}"));
    let mut text = wrap(&format!("{}{place}", answer.machine), WIDTH, 2) + "\n";
    for effects in &answer.readings {
        text.push_str(&effects_text(effects, over, most, length));
    }
    for refused in &answer.refused {
        let _ = writeln!(text, "\n{}", wrap(refused, WIDTH, 2));
    }
    text
}

fn effects_text(effects: &Effects, over: &[Over], most: usize, length: Unit) -> String {
    let mut text = format!("\n{}", named(&effects.reading, effects.value));
    let place = over::place(over, &effects.reading, effects.taken_at, effects.and_at);
    if !place.is_empty() {
        let _ = write!(text, " {place}");
    }
    text.push('\n');
    if !effects.dimensions.is_empty() {
        text.push_str(&dimensions_text(effects, most, length));
        text.push_str(&parts_text(effects));
    } else if effects.must_agree.is_empty() {
        text.push_str("\nno dimension moves it\n");
    }
    if !effects.must_agree.is_empty() {
        text.push_str(
            "\nDimensions that must agree with one another: it is over-determined in them,\n\
             and goes together with none of them off alone\n",
        );
        for dimension in effects.must_agree.iter().take(most) {
            let _ = writeln!(text, "  {dimension}");
        }
        let all = effects.must_agree.len();
        if all > most {
            let _ = writeln!(text, "and {} more (--most {all} shows all)", all - most);
        }
    }
    text.push_str(&hand_text("drive", &effects.drives, effects));
    text.push_str(&hand_text("setting", &effects.settings, effects));
    text
}

fn dimensions_text(effects: &Effects, most: usize, length: Unit) -> String {
    let reading = &effects.reading;
    let mut change = Column::numbers("changes it by", "");
    let mut now = Column::numbers("nominal", "");
    let mut name = Column::words("dimension");
    for effect in effects.dimensions.iter().take(most) {
        let unit = unit_of(effect.inside, length);
        change
            .cells
            .push(signed_with_unit(effect.change, reading.unit));
        now.cells.push(with_unit(effect.nominal, unit));
        name.cells.push(effect.dimension.clone());
    }
    // The same step for all of a kind, lengths first.
    let kinds = [Inside::Millimetre, Inside::Radian, Inside::Count];
    let steps = kinds.iter().filter_map(|&kind| {
        let effect = effects
            .dimensions
            .iter()
            .find(|effect| effect.inside == kind)?;
        Some(with_unit(effect.step, unit_of(kind, length)))
    });
    let steps: Vec<String> = steps.collect();
    let mut text = format!("\nA dimension {} greater\n", steps.join(" or "));
    text.push_str(&lay_out(&[], &[change, now, name]));
    let all = effects.dimensions.len();
    if all > most {
        let _ = writeln!(
            text,
            "and {} more that do less (--most {all} shows all)",
            all - most
        );
    }
    text
}

fn parts_text(effects: &Effects) -> String {
    let unit = effects.reading.unit;
    let mut likely = Column::numbers("likely", "");
    let mut worst = Column::numbers("at worst", "");
    let mut number = Column::numbers("dimensions", "");
    let mut name = Column::words("part");
    for part in &effects.parts {
        likely.cells.push(with_unit(part.root_sum_square, unit));
        worst.cells.push(with_unit(part.worst, unit));
        number.cells.push(part.dimensions.to_string());
        name.cells.push(part.of.clone());
    }
    let table = lay_out(&[], &[likely, worst, number, name]);
    format!("\nAll dimensions of a part off by so much, either way\n{table}")
}

fn hand_text(what: &str, hands: &[HandEffect], effects: &Effects) -> String {
    let unit = effects.reading.unit;
    let mut name = Column::words(what);
    let mut at = Column::numbers("at", "");
    let mut per = Column::numbers("rate", "");
    let mut step = Column::numbers("a step of", "");
    let mut change = Column::numbers("changes it by", "");
    for hand in hands.iter().filter(|hand| hand.rate != 0.0) {
        let own = hand.held.quantity.unit;
        name.cells.push(hand.held.quantity.name.clone());
        at.cells.push(with_unit(hand.held.value, own));
        per.cells.push(format!(
            "{} {}",
            rate(hand.rate, unit, own),
            rate_unit(unit, own)
        ));
        step.cells
            .push(hand.step.map_or(String::new(), |step| with_unit(step, own)));
        change.cells.push(
            hand.change
                .map_or(String::new(), |change| signed_with_unit(change, unit)),
        );
    }
    if name.cells.is_empty() {
        return String::new();
    }
    let mut columns = vec![name, at, per];
    if step.cells.iter().any(|cell| !cell.is_empty()) {
        columns.push(step);
        columns.push(change);
    }
    format!("\n{}", lay_out(&[], &columns))
}
