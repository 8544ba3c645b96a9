//! What the load studies answer. Forces in N, moments in N·mm, lengths in mm, angles in rad.

use crate::answers::{Finding, Held, Quantity};
use schemars::JsonSchema;
use serde::Serialize;

/// What kind of joint a force goes through.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum JointKind {
    /// A pin between two parts, or the support of a part on the frame. Size of the force, N.
    Pin,
    /// A rod. Pull, N: positive in tension, negative in compression.
    Rod,
    /// A slide. Force square to the guide, N, positive to the left of its direction; and the couple its ends take.
    Slide,
    /// A pin in a slot. Force square to the slot, N.
    Slot,
    /// A gear pair or a belt. Moment on its greater wheel, N·mm.
    Mesh,
    /// A rack. Force along it, N.
    Rack,
    /// A roller or pin on a cam; the force along the normal, plus pushes it away from the cam's centre.
    Cam,
    /// The clamp of an arm on its shaft: what its set screw or key sees. Moment, N·mm.
    Clamp,
    /// What holds a drive. Moment, N·mm, or force, N, in the drive's sense.
    Drive,
    /// A freedom that nothing holds, held here as drawn. Moment or force.
    Held,
}

/// A joint through which force goes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LoadedJoint {
    /// In the builder's words: "pin knee of lever and link", "rod front".
    pub name: String,
    /// What it is.
    pub kind: JointKind,
    /// The part that [`JointForce::vector`] acts on.
    pub on: String,
    /// The part that gives the force; the frame makes it a support.
    pub by: String,
    /// Index of the plane that the vector lies in.
    pub plane: usize,
    /// `value` is a moment, N·mm; else a force, N.
    pub is_moment: bool,
}

/// Force in one joint in one pose.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct JointForce {
    /// Without friction; sign and meaning as [`JointKind`] says.
    pub value: f64,
    /// Greatest size of it: without friction, and with friction at its high value while the drive moves either way. Of a slide with a
    /// `length`, the harder pressed end of its guide where a couple presses the ends opposite ways.
    pub most: f64,
    /// Force on [`LoadedJoint::on`] to the right and up in its plane, N. None for moments.
    pub vector: Option<[f64; 2]>,
    /// Where that force acts, right and up in its plane, mm.
    pub place: Option<[f64; 2]>,
    /// Couple that the ends of a slide's guide take, N·mm.
    pub couple: Option<f64>,
    /// It shares its force with joints that repeat it, and how is not determined: this is one way of many.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub undetermined: bool,
}

/// What one load, spring or weight does in one pose.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Acted {
    /// "load leather", "spring take-up", "weight of lever".
    pub name: String,
    /// Length, gap or turn that it acts on, mm or rad, with the machine's stretch.
    pub value: f64,
    /// N or N·mm; positive makes that value greater.
    pub force: f64,
    /// Where it would come to rest again when its work gives way from here; none where there is no other place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub snaps_to: Option<f64>,
}

/// What a drive needs in one pose.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct DriveForce {
    /// Moment, N·mm, or force, N, that balances the loads without friction, in the drive's sense.
    pub free: f64,
    /// What it takes to move on (value growing), friction high. None when it jams or the drive was not asked for.
    pub on: Option<f64>,
    /// What is left while it moves back (value falling), friction high; negative when it must be pulled back.
    pub back: Option<f64>,
    /// The same two at the hand point, N square to the arm; when the drive has a hand.
    pub hand_on: Option<f64>,
    /// Moving back.
    pub hand_back: Option<f64>,
    /// Without friction.
    pub hand_free: Option<f64>,
    /// How far the hand goes, the way it pushes, for a unit of the drive: its arm, mm (1 for a drive that slides).
    pub hand_arm: Option<f64>,
    /// Share of the work that arrives when moving on against the loads.
    pub efficiency_on: Option<f64>,
    /// The same when moving back against the loads.
    pub efficiency_back: Option<f64>,
    /// Range of moment or force in which nothing moves: `on` less `back`.
    pub dead_band: Option<f64>,
    /// Part of `on` and of `back` that lifts a detent out of the notch in which it stands, N·mm or N.
    pub lifts: Option<f64>,
    /// The hand cannot move it here: it stands still where the hand takes hold, or the hand pushes straight across its way.
    pub hand_idle: bool,
    /// Going on goes along the direction that the file names for the hand (1), or against it (-1); none without a direction.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hand_way: Option<f64>,
    /// Going on, and going back, takes a pull, and the hand only pushes: something else must carry it there.
    #[serde(skip_serializing_if = "no_pull")]
    pub must_pull: [bool; 2],
    /// What jams when moving on.
    pub jams_on: Option<String>,
    /// What jams when moving back.
    pub jams_back: Option<String>,
    /// What happens when the hand lets go.
    pub let_go: Option<LetGo>,
}

/// What happens when the hand lets a drive go, friction at its low value.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LetGo {
    /// It stays.
    pub stays: bool,
    /// It runs this way by itself: +1 value growing, −1 falling, 0 when nothing pushes it.
    pub pushed: f64,
    /// How many times the driving moment is held by friction and detent; none when nothing drives it.
    pub factor: Option<f64>,
    /// Moment or force that friction holds.
    pub friction: f64,
    /// Moment or force that detents hold here.
    pub detent: f64,
    /// What a hand or clamp must hold beyond friction, detents left out: 0 when friction is enough.
    pub to_hold: f64,
    /// The stop or slot end that it is pushed against: it stays there whatever drives it.
    pub rests_on: Option<String>,
    /// Which joints do the holding, the greatest share first.
    pub by: Vec<HoldingJoint>,
}

/// A joint that holds by its friction.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HoldingJoint {
    /// Its name.
    pub joint: String,
    /// Its share of all friction, 0 to 1.
    pub share: f64,
}

/// One pose.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LoadRow {
    /// Value of the drive that is moved; none for a single pose.
    pub at: Option<f64>,
    /// The machine can get there; if not, the rest is empty.
    pub reached: bool,
    /// It stands at a dead centre, where no forces can be told.
    pub dead_centre: bool,
    /// The split of force between joints that repeat one another is not determined; totals are right.
    pub split_undetermined: bool,
    /// What the loads do.
    pub acted: Vec<Acted>,
    /// One a joint, in the order of [`Loads::joints`].
    pub joints: Vec<JointForce>,
    /// One a drive of the machine.
    pub drives: Vec<DriveForce>,
}

/// The worst of a drive over all poses of a case.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DriveWorst {
    /// The drive.
    pub drive: Quantity,
    /// The part and point where the hand takes hold.
    pub hand: Option<String>,
    /// The way it pushes where the file names one, and the other: "down" and "up".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hand_ways: Option<[String; 2]>,
    /// Index of the row where moving it against the loads is hardest (least for `back` where that must be pulled).
    pub hardest: Option<usize>,
    /// Effort there: at the hand, N, else at the drive, N·mm or N. Always positive.
    pub effort: Option<f64>,
    /// It is hardest moving on; else moving back.
    pub moving_on: bool,
    /// Where it is hardest, moving on closes the gap that the loads of this case squeeze; none when nothing is squeezed.
    pub hardest_closes: Option<bool>,
    /// Moving on closes that gap in every pose (or opens it in every pose); none when it does now one and now the other, as over a centre.
    pub on_closes: Option<bool>,
    /// Index of the row where it is most ready to run by itself.
    pub loosest: Option<usize>,
    /// What happens there.
    pub let_go: Option<LetGo>,
}

/// A station along a shaft.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Station {
    /// Station, mm.
    pub station: f64,
    /// What stands there: "bearing", "arm", "journal-left".
    pub what: String,
    /// Force on the shaft there, right and up in its plane, N.
    pub force: [f64; 2],
    /// Bending moment just before and just after, N·mm (they differ where a couple acts).
    pub bending: [f64; 2],
    /// The same about right and about up; between stations each runs straight.
    pub bent: [[f64; 2]; 2],
    /// Torsion just before and just after, N·mm.
    pub torsion: [f64; 2],
}

/// Bending and torsion along a shaft in its worst pose of a case.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ShaftLoad {
    /// The shaft.
    pub shaft: String,
    /// Index of the row.
    pub row: usize,
    /// The drive that moves while this is carried, on or back, friction high; none at rest, without friction.
    pub moving: Option<Moving>,
    /// Loads on its two bearings, right and up, N; none when the file names no bearings.
    pub bearings: Option<[[f64; 2]; 2]>,
    /// Thrust along its axis, N, towards the viewer of its plane.
    pub thrust: f64,
    /// Stations in order.
    pub stations: Vec<Station>,
    /// Greatest bending moment, N·mm; none without bearings.
    pub most_bending: Option<f64>,
    /// Greatest torsion, N·mm.
    pub most_torsion: f64,
}

impl ShaftLoad {
    /// "while set moves on, friction high", or "at rest, without friction".
    pub fn when(&self) -> String {
        match &self.moving {
            Some(m) => format!(
                "while {} moves {}, friction high",
                m.drive,
                if m.on { "on" } else { "back" }
            ),
            None => String::from("at rest, without friction"),
        }
    }
}

/// A drive on the move.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Moving {
    /// Its name.
    pub drive: String,
    /// Its value grows; else it falls.
    pub on: bool,
}

/// What a part sees out of its plane from rods that leave it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OutOfPlane {
    /// The part.
    pub part: String,
    /// The rod that pushes or pulls.
    pub rod: String,
    /// Index of the row where the moment is greatest.
    pub row: usize,
    /// Force out of the plane, N.
    pub thrust: f64,
    /// Moment that tilts the part on its pivot, N·mm.
    pub tilting: f64,
}

/// A clamp, key or set screw.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClampLoad {
    /// "clamp end-ring" or "the clamp of arm".
    pub name: String,
    /// Index of the row where it is greatest.
    pub row: usize,
    /// Greatest moment (or force, for a drive that slides) it must hold, friction of the machine at its low value, the hand leaning on it
    /// counted.
    pub moment: f64,
    /// Force with which the hand leans on it, N.
    pub leaned: Option<f64>,
    /// Radius at which it holds, mm.
    pub radius: Option<f64>,
    /// Force at that radius, N: shear of a key.
    pub force: Option<f64>,
    /// Force with which the screw must press, one rubbing face counted, friction low, N.
    pub screw: Option<f64>,
}

/// A spring plunger in its notch.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DetentForce {
    /// Its name.
    pub name: String,
    /// Slope of its flank, rad.
    pub slope: f64,
    /// Force across the plunger that lifts it, friction low (what it surely holds) and high (what the hand needs), N.
    /// None where the flank is so steep that it locks.
    pub lifts: [Option<f64>; 2],
    /// The same as moment at the drive, N·mm (or force, N).
    pub holds: [Option<f64>; 2],
    /// Force with which it centres the drive, friction high, N.
    pub centring: f64,
}

/// One load case.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CaseLoads {
    /// Its name.
    pub case: String,
    /// Drives and settings in it, but the one that is moved.
    pub held: Vec<Held>,
    /// The poses.
    pub rows: Vec<LoadRow>,
    /// The worst of every drive.
    pub drives: Vec<DriveWorst>,
    /// Bending and torsion of shafts.
    pub shafts: Vec<ShaftLoad>,
    /// Tilting moments from rods that leave their plane.
    pub out_of_plane: Vec<OutOfPlane>,
    /// Worst of each joint that tips over a station of its shaft.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub tipping: Vec<Tipping>,
    /// Clamps, keys and set screws.
    pub clamps: Vec<ClampLoad>,
}

/// The worst of a joint over all cases and poses.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct JointWorst {
    /// Index into [`Loads::joints`].
    pub joint: usize,
    /// Index into [`Loads::cases`].
    pub case: usize,
    /// Index of the row there.
    pub row: usize,
    /// Greatest size, friction counted.
    pub most: f64,
    /// For rods: greatest pull and greatest push without friction, N, both positive.
    pub pull_and_push: Option<[f64; 2]>,
    /// See [`JointForce::undetermined`].
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub undetermined: bool,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands a field over by reference"
)]
fn no_pull(must: &[bool; 2]) -> bool {
    *must == [false; 2]
}

/// A force on a part, for a picture.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Arrow {
    /// "pin knee of lever and link", "load leather", "hand".
    pub what: String,
    /// The part it acts on.
    pub on: String,
    /// Index of its plane.
    pub plane: usize,
    /// Where it acts, right and up in its plane, mm.
    pub at: [f64; 2],
    /// The force, right and up in its plane, N.
    pub vector: [f64; 2],
    /// See [`JointForce::undetermined`].
    pub undetermined: bool,
}

/// All forces in one pose under one case, without friction.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Arrows {
    /// The case.
    pub case: String,
    /// The drive that a hand holds; none where drives are held by what moves them.
    pub hand: Option<String>,
    /// Joints first, then what acts, then the hand.
    pub arrows: Vec<Arrow>,
}

/// What lies on a shaft at several stations and would tip over one of them.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Tipping {
    /// The joint.
    pub joint: String,
    /// The shaft.
    pub shaft: String,
    /// Station that is lifted, mm.
    pub station: f64,
    /// What must hold it down there, N.
    pub force: f64,
    /// Index of the row.
    pub row: usize,
}

/// How hard everything is pressed, what moves it, and whether it stays.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Loads {
    /// Name of the machine.
    pub machine: String,
    /// The drive that is moved; none for a single pose.
    pub drive: Option<Quantity>,
    /// The joints.
    pub joints: Vec<LoadedJoint>,
    /// The cases.
    pub cases: Vec<CaseLoads>,
    /// The worst of every joint, the greatest force first; joints that carry nothing left out.
    pub worst: Vec<JointWorst>,
    /// Spring plungers.
    pub detents: Vec<DetentForce>,
    /// What was taken for granted where the file says nothing.
    pub assumed: Vec<String>,
    /// Findings, the worst first.
    pub findings: Vec<Finding>,
}

/// A member that gives, and what it does to a reading.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Stretched {
    /// "rod front", "lever", "cross-shaft, twist", "pin knee".
    pub member: String,
    /// How far it moves the reading under these loads, mm or rad.
    pub moves: f64,
    /// Share of the sum of the sizes of all these movements, 0 to 1.
    pub share: f64,
    /// Loaded value of the reading with this member twice as stiff.
    pub doubled: f64,
}

/// A reading with the machine stretched by its loads.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ReadingStretch {
    /// The reading.
    pub reading: Quantity,
    /// Without load.
    pub free: f64,
    /// With the work pushing back and the machine yielding.
    pub loaded: f64,
    /// For a reading over another drive: where it is taken, the least or greatest without load.
    pub taken_at: Option<f64>,
    /// Give of the reading under a unit load on it, mm/N (rad/(N·mm)); none for a swing.
    pub give: Option<f64>,
    /// Members, the greatest movement first.
    pub members: Vec<Stretched>,
}

/// What gives way under one load case, in one pose.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Stretch {
    /// Name of the machine.
    pub machine: String,
    /// The case.
    pub case: String,
    /// Drives and settings.
    pub held: Vec<Held>,
    /// The loads as they act on the stretched machine.
    pub acted: Vec<Acted>,
    /// Readings.
    pub readings: Vec<ReadingStretch>,
    /// Members that are taken as stiff because the file says nothing of them.
    pub stiff: Vec<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// Findings.
    pub findings: Vec<Finding>,
}

/// Play of one joint.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct JointPlay {
    /// The joint.
    pub joint: String,
    /// Diametral clearance (for guides and gears: free play), low and high, mm.
    pub clearance: [f64; 2],
    /// Force that takes it up under the case, N; zero when none goes through.
    pub force: f64,
    /// Which way: for a pin the direction in which the part named last is pushed, rad in its plane; none when no force does.
    pub side: Option<f64>,
    /// Springs and weights alone press it to this side too, so that it does not rattle when the work lets go.
    pub seated: bool,
    /// The other loads of the case lift it off the side to which springs and weights press it.
    pub lifted: bool,
}

/// What play does to a reading.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ReadingPlay {
    /// The reading.
    pub reading: Quantity,
    /// Its value without play.
    pub value: f64,
    /// How far it may wander either way when nothing presses, clearances high.
    pub rattles: f64,
    /// How far the loads of the case shift it, clearances low and high; the lesser first.
    pub taken_up: [f64; 2],
    /// Joints, the greatest movement first: name and movement either way, clearances high.
    pub joints: Vec<PlayShare>,
    /// Drives that move it: what turning them back loses.
    pub reversals: Vec<Reversal>,
    /// The spring that would take it up, where springs and weights leave something of it.
    pub wanted: Option<WantedSpring>,
}

/// What is lost when a drive turns back. The joints between the drive and the frame change sides.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Reversal {
    /// The drive.
    pub drive: Quantity,
    /// How far the reading jumps when no load presses: the reversal band, clearances high.
    pub jumps: f64,
    /// The same where springs and weights press: what is left of it.
    pub left: f64,
    /// The same where all loads of the case press.
    pub left_under: f64,
    /// Value of the drive that is lost: `jumps` over the rate of the reading; none so near to a dead centre that the drive has not that much.
    pub lost: Option<f64>,
}

/// What one joint's play does to a reading.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PlayShare {
    /// The joint.
    pub joint: String,
    /// Either way, mm or rad.
    pub moves: f64,
}

/// A spring that takes up play.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TakeUp {
    /// The spring.
    pub spring: String,
    /// Its force here, N or N·mm.
    pub force: f64,
    /// Force it needs so that every joint it presses stays seated against weights and other springs; none when it is slack.
    pub needed: Option<f64>,
    /// The joint that asks for it; none when nothing works against it.
    pub joint: Option<String>,
    /// Others hold that joint on its far side, and the load leaves it there.
    pub stays_over: bool,
    /// Force it would need to keep them seated against the work too.
    pub needed_at_work: Option<f64>,
    /// The joint that asks for that.
    pub joint_at_work: Option<String>,
    /// Joints that it cannot keep seated because it does not press them.
    pub cannot: Vec<String>,
}

/// The spring that would take up what is loose in a reading: it acts on the reading itself.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WantedSpring {
    /// It makes the reading greater; else smaller.
    pub opens: bool,
    /// Least force (moment, for an angle), N or N·mm, that keeps every joint it presses seated against weights and springs; what friction
    /// takes comes on top.
    pub force: f64,
    /// The joint that asks for it; none when nothing works against it.
    pub joint: Option<String>,
    /// Loose joints that it does not reach.
    pub cannot: Vec<String>,
}

/// Lost motion in one pose under one case.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LostMotion {
    /// Name of the machine.
    pub machine: String,
    /// The case.
    pub case: String,
    /// Drives and settings.
    pub held: Vec<Held>,
    /// Joints with play.
    pub joints: Vec<JointPlay>,
    /// Readings.
    pub readings: Vec<ReadingPlay>,
    /// Springs that take play up.
    pub take_up: Vec<TakeUp>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// Findings.
    pub findings: Vec<Finding>,
}

/// A reading as sure as it is.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Bands {
    /// As drawn and set, without load, play and tolerance.
    pub nominal: f64,
    /// With the loads of the case and the machine's stretch; none without a case.
    pub loaded: Option<f64>,
    /// Least and greatest addition by play: taken up by the loads where they press, either way where nothing does.
    pub play: [f64; 2],
    /// Least and greatest addition by tolerance: root sum square, three sigma.
    pub tolerance: [f64; 2],
    /// The whole band: loaded (else nominal) with both.
    pub from: f64,
    /// The upper end.
    pub to: f64,
    /// For a reading over another drive: where it is taken.
    pub taken_at: Option<f64>,
}

/// One pose of [`BandsTable`].
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BandsRow {
    /// Value of the drive; none for a single pose.
    pub at: Option<f64>,
    /// One a reading; none where it cannot be told.
    pub cells: Vec<Option<Bands>>,
}

/// Readings with their bands, over a drive or in one pose.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BandsTable {
    /// Name of the machine.
    pub machine: String,
    /// The case; none without load.
    pub case: Option<String>,
    /// The drive that is moved.
    pub drive: Option<Quantity>,
    /// The others.
    pub held: Vec<Held>,
    /// The readings.
    pub readings: Vec<Quantity>,
    /// The poses.
    pub rows: Vec<BandsRow>,
}
