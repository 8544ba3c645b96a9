//! Machines whose slowest speed is too fast for a cut: what burns, what runs away, and the way round.

use super::bits::Work;
use crate::finding::Grade;
use crate::speeds::{self, BURNS, Tool};
use crate::words;

/// A speed that was set because nothing slower is there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fast {
    pub(super) tool: Tool,
    pub(super) diameter: f64,
    pub(super) wanted: f64,
    pub(super) set: f64,
}

/// Work off centre turns no faster than this at first, turns a minute (common practice).
const OFF_CENTRE: f64 = 200.0;

/// A hand stops a carriage in time up to here when a thread is cut, turns a minute (common practice).
pub(super) const THREADING: f64 = 200.0;

/// One finding for each kind of tool: its worst place.
pub(super) fn findings(work: &mut Work) {
    let all = work.too_fast();
    for kind in ["turning", "milling", "drilling", "reaming"] {
        let worst = all
            .iter()
            .filter(|f| name(f.tool) == kind)
            .max_by(|a, b| (a.set / a.wanted).total_cmp(&(b.set / b.wanted)));
        let Some(f) = worst.copied() else { continue };
        let material = &work.part.material;
        let carbide = speeds::turns(material, Tool::Turning { carbide: true }, f.diameter);
        let bears = match f.tool {
            Tool::Turning { carbide: true } => false,
            _ => f.set <= BURNS * carbide,
        };
        let (advice, cutter) = match f.tool {
            Tool::Turning { carbide: true } => (
                "turn it on a slower lathe, or drive this one slower",
                "carbide",
            ),
            Tool::Turning { .. } if bears => {
                ("a tool with a carbide tip bears it", "high-speed steel")
            }
            Tool::EndMill if bears => (
                "a carbide cutter bears it, or a smaller one of high-speed steel",
                "high-speed steel",
            ),
            Tool::Turning { .. } | Tool::Boring | Tool::EndMill => (
                "drive the machine slower (another pulley, an inverter), or have it made where one is",
                "high-speed steel",
            ),
            Tool::Drill => (
                "a cobalt or carbide drill, much oil, a steady feed that never rubs; or a smaller drill, and bored",
                "a drill",
            ),
            Tool::Reamer => (
                "it is reamed by hand: tap wrench on the reamer, the centre in the spindle keeping it in line",
                "a reamer",
            ),
            Tool::Tap => continue,
        };
        let text = format!(
            "{kind} \u{2300}{}: {cutter} wants {} turns a minute, the slowest here is {}",
            work.mm(f.diameter),
            words::number(f.wanted, 0),
            words::number(f.set, 0)
        );
        work.finding(Grade::WayRound, text, advice);
    }
}

fn name(tool: Tool) -> &'static str {
    match tool {
        Tool::Turning { .. } | Tool::Boring => "turning",
        Tool::EndMill => "milling",
        Tool::Drill => "drilling",
        Tool::Reamer => "reaming",
        Tool::Tap => "tapping",
    }
}

/// A lathe that starts fast throws what is off centre.
pub(super) fn off_centre(work: &mut Work) {
    let slowest = work.lathe().map_or(0.0, |l| l.speeds.at_most(0.0));
    if slowest > OFF_CENTRE {
        let (a, b) = (words::number(slowest, 0), words::number(OFF_CENTRE, 0));
        work.finding(
            Grade::WayRound,
            format!("work off centre turns at no more than some {b} at first, the slowest of the lathe is {a}"),
            "balance it on the faceplate with weights until it stays wherever it is turned by hand; or drive the lathe slower; or bore it on a mill",
        );
    }
}

/// The speed for a thread with a single point; none, and a finding, where the spindle has to be turned by hand.
pub(super) fn threading(
    work: &mut Work,
    thread: &quantity::Thread,
    slowest: Option<f64>,
) -> Option<f64> {
    let slow = slowest?;
    if slow <= THREADING {
        return Some(slow);
    }
    let run = work.mm(slow * thread.pitch);
    work.finding(
        Grade::WayRound,
        format!(
            "the lathe turns no slower than {}: the tool runs {run} a minute at {}, faster than a hand stops it at a shoulder",
            words::number(slow, 0),
            thread.name
        ),
        "its spindle is turned by hand for the thread (a crank in its rear end), or a die",
    );
    None
}
