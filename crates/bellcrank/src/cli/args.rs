//! What can be typed: the one definition behind the help, the completions and the man pages.

use std::path::PathBuf;

use clap::{Args as Group, Parser, Subcommand, ValueEnum};
use quantity::Unit;

use super::exit::Exit;

/// Works out one-off machines from one machine file: how they move, what a degree of lever does at the work, which dimension matters.
#[derive(Debug, Parser)]
#[command(name = "bellcrank", version, after_help = Exit::help(), arg_required_else_help = true, max_term_width = 80, disable_help_subcommand = true)]
pub(crate) struct Args {
    /// Print the answer as JSON, errors too
    #[arg(long, global = true)]
    pub(crate) json: bool,
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write a small machine file to start from
    New(New),
    /// Does it go together, does it move, are the asks kept?
    Check(Check),
    /// Table of readings while a drive moves, with rates, turning points, dead centres and stops
    Motion(Motion),
    /// What happens over a whole turn of a drive: ends, dwells, speeds; and a map over two drives
    Cycle(Box<Cycle>),
    /// Draw the machine, one view a plane
    Draw(Draw),
    /// Open the machine on a page in the browser: move it, change it, see what it does
    Open(Open),
    /// Which dimension moves a reading how much
    Sensitivity(Sensitivity),
    /// How hard everything is pressed, what the hand must pull, whether it stays, what gives and what rattles
    Load(Load),
    /// Every bearing, fit, pin, rod, screw and key against its worst load; what to buy, and what would do
    Parts(Parts),
    /// Shop papers: drawings, templates, operations, cut list, what to buy, cutting data
    Packet(Packet),
    /// How far readings and asks stray on machines as made, and which dimensions to hold
    Spread(Spread),
    /// What the machine as built is like, from readings taken on it, and what to turn
    DialIn(Box<DialIn>),
    /// Print the JSON schema of the answers
    #[command(hide = true)]
    Schema,
    /// Print completions for a shell
    #[command(hide = true)]
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print a man page
    #[command(hide = true)]
    Man {
        /// The command it is about; without it, the program as a whole
        command: Option<String>,
    },
}

#[derive(Debug, Group)]
pub(crate) struct New {
    /// The file to write; one that is there already is left alone
    #[arg(
        default_value = "machine.toml",
        default_value_if("shop", "true", "shop.toml")
    )]
    pub(crate) file: PathBuf,
    /// What to start from
    #[arg(long, value_enum, default_value_t = Kind::Lever)]
    pub(crate) kind: Kind,
    /// Write a shop file instead: what machines, tools and stock there are
    #[arg(long, conflicts_with = "kind")]
    pub(crate) shop: bool,
}

/// The machines to start from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Kind {
    /// A hand lever that sets a gap through a rod and an eccentric
    Lever,
    /// A crank and rocker, as under a treadle
    Crank,
}

/// The machine file and the unit in which its lengths are read.
#[derive(Debug, Group)]
pub(crate) struct File {
    /// The machine file
    pub(crate) file: PathBuf,
    /// Show lengths in this unit, and take bare lengths on the command line in it
    #[arg(long, value_enum)]
    pub(crate) unit: Option<LengthUnit>,
    /// The machine as drawn, with its measured dimensions, or as fitted to its log (the one beside it: embosser.log.toml)
    #[arg(long = "as", value_enum, default_value_t = As::Drawn)]
    pub(crate) machine_as: As,
    /// The log that --as speaks of, when it is not the one beside the machine file
    #[arg(long, value_name = "LOG", requires = "machine_as")]
    pub(crate) log: Option<PathBuf>,
}

/// Which machine is asked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum As {
    /// As drawn
    #[default]
    Drawn,
    /// With the dimensions that were measured on parts, the rest as drawn
    Measured,
    /// As most likely built: drawing, measured parts and readings weighed by how sure they are
    Built,
}

/// Units for lengths on the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum LengthUnit {
    /// Millimetres
    Mm,
    /// Centimetres
    Cm,
    /// Inches
    In,
    /// Thousandths of an inch
    Thou,
}

impl LengthUnit {
    pub(crate) fn unit(self) -> Unit {
        match self {
            Self::Mm => Unit::Millimetre,
            Self::Cm => Unit::Centimetre,
            Self::In => Unit::Inch,
            Self::Thou => Unit::Thou,
        }
    }
}

/// Where the machine stands.
#[derive(Debug, Group)]
pub(crate) struct Pose {
    /// Where another drive stands, such as "set = 40 deg"; may be repeated
    #[arg(long, value_name = "DRIVE=VALUE", allow_hyphen_values = true)]
    pub(crate) at: Vec<String>,
    /// What a setting is set to, such as "front-rod = half turn"; may be repeated
    #[arg(long, value_name = "SETTING=VALUE", allow_hyphen_values = true)]
    pub(crate) set: Vec<String>,
}

#[derive(Debug, Group)]
pub(crate) struct Check {
    #[command(flatten)]
    pub(crate) file: File,
    /// List the other ways in which the same parts go together
    #[arg(long)]
    pub(crate) assemblies: bool,
}

#[derive(Debug, Group)]
pub(crate) struct Motion {
    #[command(flatten)]
    pub(crate) file: File,
    /// The drive to move; without it, the first in the file
    #[arg(long)]
    pub(crate) drive: Option<String>,
    /// Where to begin; without it, the low end of the drive's range
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) from: Option<String>,
    /// Where to end; without it, the high end of the drive's range
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) to: Option<String>,
    /// Step from line to line
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) step: Option<String>,
    #[command(flatten)]
    pub(crate) pose: Pose,
    /// A reading to show; may be repeated; without it, all
    #[arg(long = "reading", value_name = "READING")]
    pub(crate) readings: Vec<String>,
    /// How to print the table
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Draw the curves too, into this .svg or .png file
    #[arg(long, value_name = "PICTURE")]
    pub(crate) plot: Option<PathBuf>,
}

/// How a table is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For reading
    Text,
    /// For a spreadsheet
    Csv,
    /// For other programs; the same as --json
    Json,
}

#[derive(Debug, Group)]
pub(crate) struct Draw {
    #[command(flatten)]
    pub(crate) file: File,
    /// The .svg or .png file to write
    #[arg(short, long, value_name = "PICTURE")]
    pub(crate) output: PathBuf,
    #[command(flatten)]
    pub(crate) pose: Pose,
    /// Draw it faintly in this place too, such as "set = 75 deg"; may be repeated
    #[arg(long, value_name = "DRIVE=VALUE", allow_hyphen_values = true)]
    pub(crate) ghost: Vec<String>,
    /// A point whose path to draw; may be repeated
    #[arg(long, value_name = "POINT")]
    pub(crate) trace: Vec<String>,
    /// The drive that moves for the paths; without it, the first in the file
    #[arg(long)]
    pub(crate) drive: Option<String>,
    /// Draw this plane alone; without it, one view a plane
    #[arg(long)]
    pub(crate) plane: Option<String>,
    /// Black on white for print, or bright lines on layout blue
    #[arg(long, value_enum, default_value_t = Look::Print)]
    pub(crate) look: Look,
    /// Scale, such as 1:2; without it, whatever fills the sheet
    #[arg(long, value_name = "PAPER:MACHINE", value_parser = scale)]
    pub(crate) scale: Option<sheets::Scale>,
}

#[derive(Debug, Group)]
pub(crate) struct Open {
    /// The machine file; the machines in its folder and in the folders there can be opened too
    pub(crate) file: PathBuf,
    /// The port on this computer; without it, any free one
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    pub(crate) port: u16,
    /// Print the link, and leave it to you to open it
    #[arg(long)]
    pub(crate) no_browser: bool,
}

/// How a drawing looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Look {
    /// Black on white
    Print,
    /// Bright lines on layout blue
    Board,
}

#[derive(Debug, Group)]
pub(crate) struct Cycle {
    #[command(flatten)]
    pub(crate) file: File,
    /// The drive that goes round; without it, the first that goes a whole turn, or else the first
    #[arg(long)]
    pub(crate) drive: Option<String>,
    /// A reading to tell of; may be repeated; without it, all that the drive moves
    #[arg(long = "reading", value_name = "READING")]
    pub(crate) readings: Vec<String>,
    #[command(flatten)]
    pub(crate) pose: Pose,
    /// A reading dwells while it stays within this of its end; a length or an angle, may be given for both; without it 0.05 mm and 0.1 deg
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) within: Vec<String>,
    /// How fast the drive goes, such as "60 rpm" (or "40 mm/s" for a slide): speeds, accelerations and what turns it are told as well; without it `per-minute` of a drive that goes round
    #[arg(long, value_name = "SPEED", allow_hyphen_values = true)]
    pub(crate) speed: Option<String>,
    /// The load case under which it is turned; without it, the first whose loads follow the machine round
    #[arg(long, value_name = "CASE")]
    pub(crate) under: Option<String>,
    /// How even a fly-wheel is to make the speed: greatest less least over their mean, such as 0.02 or "2 %"
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    pub(crate) unevenness: Option<String>,
    /// Tell also where moving parts come closest or meet over the range of both drives, and which gaps crush
    #[arg(long)]
    pub(crate) clearance: bool,
    /// Poses of it, about so many
    #[arg(long, value_name = "N", default_value_t = 5000, value_parser = poses, allow_hyphen_values = true, requires = "clearance")]
    pub(crate) poses: usize,
    /// Run it in time too: started by the motors and pushes of the file, with work, friction and inertia
    #[arg(long)]
    pub(crate) run: bool,
    /// Nothing turns it: it is let go, at --from or else at its speed
    #[arg(long, requires = "run")]
    pub(crate) let_go: bool,
    /// Speed at the start of the run; without it, it starts from rest
    #[arg(
        long,
        value_name = "SPEED",
        requires = "run",
        allow_hyphen_values = true
    )]
    pub(crate) from: Option<String>,
    /// Where the drive stands at the start of the run; without it, as drawn
    #[arg(
        long,
        value_name = "ANGLE",
        requires = "run",
        allow_hyphen_values = true
    )]
    pub(crate) start: Option<String>,
    /// The run ends after so many seconds; it ends before when every turn is like the last, or it stands
    #[arg(long, value_name = "SECONDS", default_value_t = 60.0, value_parser = seconds, allow_hyphen_values = true, requires = "run")]
    pub(crate) until: f64,
    /// How fast this point goes, how hard it is accelerated, and its jerk; may be given more than once
    #[arg(long = "point", value_name = "POINT")]
    pub(crate) points: Vec<String>,
    /// Draw the timing diagram, and what turns the drive, into this .svg or .png file; with --run the run over time
    #[arg(long, value_name = "PICTURE")]
    pub(crate) plot: Option<PathBuf>,
    /// The second drive of the map and of the closing curve; without it, the first other one that moves the reading
    #[arg(long, value_name = "DRIVE")]
    pub(crate) over: Option<String>,
    /// Draw lines of equal reading over both drives, into this .svg or .png file; a .csv gets the grid
    #[arg(long, value_name = "FILE")]
    pub(crate) map: Option<PathBuf>,
    /// Places of the map, across by upwards
    #[arg(long, value_name = "N,M", default_value = "721,201", value_parser = grid, requires = "map")]
    pub(crate) grid: [usize; 2],
    /// Write the numbers to cut a cam by into this .csv file: lift, roller and cutter over the turn
    #[arg(long, value_name = "FILE")]
    pub(crate) cam_table: Option<PathBuf>,
    /// The cam of the table; without it, the first
    #[arg(long, value_name = "CAM", requires = "cam_table")]
    pub(crate) cam: Option<String>,
    /// Diameter of the cutter of the table; without it, the file's, or the roller's
    #[arg(
        long,
        value_name = "DIAMETER",
        requires = "cam_table",
        allow_hyphen_values = true
    )]
    pub(crate) cutter: Option<String>,
    /// Turn from line to line of the table; without it 1 deg
    #[arg(
        long,
        value_name = "ANGLE",
        requires = "cam_table",
        allow_hyphen_values = true
    )]
    pub(crate) cam_step: Option<String>,
    /// How to print it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
}

/// How long a run may take.
fn seconds(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let read = text.strip_suffix('s').unwrap_or(text).trim().parse::<f64>();
    read.ok()
        .filter(|s| *s > 0.0 && *s <= 3600.0)
        .ok_or_else(|| String::from("write seconds from above 0 to 3600, such as 60"))
}

/// Poses of a clearance.
/// Poses of a clearance.
pub(crate) const POSES: std::ops::RangeInclusive<usize> = 4..=1_000_000;

fn poses(text: &str) -> Result<usize, String> {
    let read = text.trim().parse::<usize>().ok();
    read.filter(|n| POSES.contains(n))
        .ok_or_else(|| String::from("write a whole number from 4 to 1000000, such as 5000"))
}

/// Two numbers of places.
fn grid(text: &str) -> Result<[usize; 2], String> {
    let read = |t: &str| {
        t.trim()
            .parse::<usize>()
            .ok()
            .filter(|n| (2..=20_000).contains(n))
    };
    text.split_once([',', 'x'])
        .and_then(|(a, b)| Some([read(a)?, read(b)?]))
        .ok_or_else(|| String::from("write two numbers from 2 on, such as 721,201"))
}

#[derive(Debug, Group)]
pub(crate) struct Sensitivity {
    #[command(flatten)]
    pub(crate) file: File,
    /// A reading to explain; may be repeated; without it, all
    #[arg(long = "reading", value_name = "READING")]
    pub(crate) readings: Vec<String>,
    #[command(flatten)]
    pub(crate) pose: Pose,
    /// Show no more than so many dimensions of a reading (as text; JSON has all)
    #[arg(long, value_name = "N", default_value_t = 12, value_parser = count)]
    pub(crate) most: usize,
}

#[derive(Debug, Group)]
pub(crate) struct Load {
    #[command(flatten)]
    pub(crate) file: File,
    /// The load case; without it, every one
    #[arg(long)]
    pub(crate) case: Option<String>,
    /// The drive to move; without it, the first that no load case puts anywhere
    #[arg(long)]
    pub(crate) drive: Option<String>,
    /// Where to begin; without it, the low end of the drive's range
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) from: Option<String>,
    /// Where to end; without it, the high end of the drive's range
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) to: Option<String>,
    /// Step from line to line
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) step: Option<String>,
    #[command(flatten)]
    pub(crate) pose: Pose,
    /// Show no more than so many joints (as text; CSV and JSON have all)
    #[arg(long, value_name = "N", default_value_t = 12, value_parser = count)]
    pub(crate) most: usize,
    /// How to print it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Draw the effort and the readings with their bands, into this .svg or .png file
    #[arg(long, value_name = "PICTURE")]
    pub(crate) plot: Option<PathBuf>,
    /// Draw the machine with the forces in its joints as arrows, into this .svg or .png file
    #[arg(long, value_name = "PICTURE")]
    pub(crate) arrows: Option<PathBuf>,
    /// Draw bending and torsion along the shafts, into this .svg or .png file
    #[arg(long, value_name = "PICTURE")]
    pub(crate) shafts: Option<PathBuf>,
}

#[derive(Debug, Group)]
pub(crate) struct Parts {
    #[command(flatten)]
    pub(crate) file: File,
    /// Tell the smallest that passes for every element, not only where something fails or is larger than needed
    #[arg(long)]
    pub(crate) would_do: bool,
    /// How to print it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
}

#[derive(Debug, Group)]
pub(crate) struct Packet {
    #[command(flatten)]
    pub(crate) file: File,
    /// The folder to write into; it is made when it is not there
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
    /// Paper to print on
    #[arg(long, value_enum, default_value_t = Paper::A4)]
    pub(crate) paper: Paper,
    /// Show inches in brackets behind millimetres, or millimetres behind inches: on drawings, hole tables and the cut list
    #[arg(long)]
    pub(crate) dual: bool,
}

/// Paper to print on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Paper {
    /// 210 x 297 mm
    A4,
    /// 8.5 x 11 in
    Letter,
}

#[derive(Debug, Group)]
pub(crate) struct Spread {
    #[command(flatten)]
    pub(crate) file: File,
    /// A reading to spread; may be repeated; without it, all. Asks are always spread
    #[arg(long = "reading", value_name = "READING")]
    pub(crate) readings: Vec<String>,
    #[command(flatten)]
    pub(crate) pose: Pose,
    /// How many machines to make
    #[arg(long, value_name = "N", default_value_t = 100_000, value_parser = machines, allow_negative_numbers = true)]
    pub(crate) machines: usize,
    /// Seed of the made machines: the same seed makes the same ones
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = seed, allow_negative_numbers = true)]
    pub(crate) seed: u64,
    /// Show no more than so many dimensions of an ask (as text; CSV and JSON have all)
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = count, allow_negative_numbers = true)]
    pub(crate) most: usize,
    /// How to print it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Draw whose share of the spread is how great, into this .svg or .png file
    #[arg(long, value_name = "PICTURE")]
    pub(crate) plot: Option<PathBuf>,
}

#[derive(Debug, Group)]
pub(crate) struct DialIn {
    /// The machine file
    pub(crate) file: PathBuf,
    /// Show lengths in this unit, and take bare lengths on the command line in it
    #[arg(long, value_enum)]
    pub(crate) unit: Option<LengthUnit>,
    /// The log; without it, the one beside the machine file (embosser.toml has embosser.log.toml)
    #[arg(long, value_name = "LOG")]
    pub(crate) log: Option<PathBuf>,
    /// A table of readings (CSV), headed like "set (deg),gap up (mm),gap down (mm)"; may be repeated
    #[arg(long, value_name = "TABLE")]
    pub(crate) readings: Vec<PathBuf>,
    /// A dimension as measured, such as "rod front: length = 180.04 mm"; may be repeated
    #[arg(long, value_name = "DIMENSION=VALUE")]
    pub(crate) measured: Vec<String>,
    /// A job that was run: the leather, the die; with --at, --set and --read
    #[arg(long, value_name = "NAME")]
    pub(crate) job: Option<String>,
    /// What a reading was in that job, such as "gap = 0.36 mm"; may be repeated
    #[arg(
        long = "read",
        value_name = "READING=VALUE",
        allow_hyphen_values = true
    )]
    pub(crate) reads: Vec<String>,
    #[command(flatten)]
    pub(crate) pose: Pose,
    /// How far off a reading or a measured value may be 95 times of 100
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) uncertainty: Option<String>,
    /// How far off the drive may have been put, each time anew, 95 times of 100
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) position: Option<String>,
    /// How far off the zero of the drive's own scale may be 95 times of 100, all places alike: a protractor put on by hand
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub(crate) drive_zero: Option<String>,
    /// Zero of the indicator: unknown, true, or kept since the run before; without it, unknown
    #[arg(long, value_name = "ZERO")]
    pub(crate) zero: Option<String>,
    /// Which way the indicator counts: same as the reading, or opposite; without it, the same
    #[arg(long, value_name = "SENSE")]
    pub(crate) sense: Option<String>,
    /// The load case under which the table was taken
    #[arg(long, value_name = "CASE")]
    pub(crate) under: Option<String>,
    /// The instrument
    #[arg(long, value_name = "INSTRUMENT")]
    pub(crate) with: Option<String>,
    /// The day, such as 2026-03-14
    #[arg(long, value_name = "DAY")]
    pub(crate) on: Option<String>,
    /// Write what is given here into the log as well
    #[arg(long)]
    pub(crate) keep: bool,
    /// Print an empty table for readings, to be filled in and read back with --readings
    #[arg(long, conflicts_with = "keep")]
    pub(crate) blank: bool,
    /// Write the sheet to take to the machine, with room for readings, what to turn and the scale, into this .pdf file
    #[arg(long, value_name = "PDF", conflicts_with_all = ["blank", "scale", "keep", "readings", "measured", "job"])]
    pub(crate) sheet: Option<PathBuf>,
    /// Paper of that sheet
    #[arg(long, value_enum, default_value_t = Paper::A4, requires = "sheet")]
    pub(crate) paper: Paper,
    /// Lay out a scale: marks for round values of a reading at their true places, on the machine as built when there is a log
    #[arg(long, conflicts_with = "blank")]
    pub(crate) scale: bool,
    /// The reading of that table or scale; without it, the one most asked for
    #[arg(long)]
    pub(crate) reading: Option<String>,
    /// The drive of that table or scale; without it, the one by which the reading is asked for
    #[arg(long)]
    pub(crate) drive: Option<String>,
    /// Radius at which the marks of a scale stand; for a drum, half its diameter
    #[arg(long, value_name = "LENGTH", requires = "scale")]
    pub(crate) radius: Option<String>,
    /// From mark to mark of a scale; without it, as fine as can be read
    #[arg(long, value_name = "VALUE", requires = "scale")]
    pub(crate) step: Option<String>,
    /// What the scale is laid on
    #[arg(long, value_enum, default_value_t = Laid::Arc, requires = "scale")]
    pub(crate) on_a: Laid,
    /// What goes with the drive: a pointer past a scale that stands, or the scale past a mark that stands; without it the pointer, and for a drum the scale
    #[arg(long, value_enum, requires = "scale")]
    pub(crate) goes: Option<Goes>,
    /// From where the drive always comes to a mark, when there is backlash: up from below, down from above; without it, from either side
    #[arg(long, value_enum, requires = "scale")]
    pub(crate) coming: Option<Coming>,
    /// Thickness of the strip that goes round a drum
    #[arg(long, value_name = "LENGTH", requires = "scale")]
    pub(crate) strip: Option<String>,
    /// Write the scale, true to size, into this .svg, .png or .dxf file; may be repeated
    #[arg(short, long, value_name = "FILE", requires = "scale")]
    pub(crate) output: Vec<PathBuf>,
    /// Show no more than so many dimensions (as text; CSV and JSON have all)
    #[arg(long, value_name = "N", default_value_t = 12, value_parser = count)]
    pub(crate) most: usize,
    /// How to print it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Draw the readings on their curves, and how far they are off the drawing, into this .svg or .png file
    #[arg(long, value_name = "PICTURE")]
    pub(crate) plot: Option<PathBuf>,
}

/// What a scale is laid on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Laid {
    /// A flat plate beside the pointer
    Arc,
    /// The face of a ring
    Ring,
    /// The outside of a drum, as a strip to wrap
    Drum,
}

/// What goes with the drive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Goes {
    /// A pointer, past a scale that stands
    Pointer,
    /// The scale, past a mark that stands
    Scale,
}

/// From where a drive comes to its marks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Coming {
    /// From below
    Up,
    /// From above
    Down,
}

fn seed(text: &str) -> Result<u64, String> {
    let number = text.trim().parse();
    number.map_err(|_| String::from("write a whole number, such as 7"))
}

/// Most machines that are made at once.
pub(crate) const MOST_MACHINES: usize = 10_000_000;

fn machines(text: &str) -> Result<usize, String> {
    match text.trim().parse() {
        Ok(count @ 1..=MOST_MACHINES) => Ok(count),
        _ => Err(format!(
            "write a whole number from 1 to {MOST_MACHINES}, such as 100000"
        )),
    }
}

fn count(text: &str) -> Result<usize, String> {
    match text.trim().parse() {
        Ok(count) if count > 0 => Ok(count),
        _ => Err(String::from("write a whole number from 1 on, such as 12")),
    }
}

/// `1:2`.
pub(crate) fn scale(text: &str) -> Result<sheets::Scale, String> {
    let wrong = || String::from("write two numbers, paper first: 1:1, 1:2, 5:1");
    let (paper, machine) = text.split_once(':').ok_or_else(wrong)?;
    let part = |text: &str| {
        let value: f64 = text.trim().parse().map_err(|_| wrong())?;
        if (1e-6..=1e6).contains(&value) {
            Ok(value)
        } else {
            Err(wrong())
        }
    };
    Ok(sheets::Scale {
        paper: part(paper)?,
        machine: part(machine)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn definition_is_sound() {
        Args::command().debug_assert();
    }

    #[test]
    fn scales_are_read() {
        assert_eq!(scale("1:2").map(sheets::Scale::factor), Ok(0.5));
        assert_eq!(scale(" 5 : 1 ").map(sheets::Scale::factor), Ok(5.0));
        for wrong in ["", "2", "0:1", "1:0", "1:-2", "NaN:1", "inf:1", "1:2:3"] {
            assert!(scale(wrong).is_err(), "{wrong}");
        }
    }
}
