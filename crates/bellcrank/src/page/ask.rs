//! From a query in a link to the question that the command line asks: the same arguments, so that the answers are the same.
//!
//! `at.NAME=VALUE` puts a drive or setting somewhere; so does `NAME=VALUE` where NAME is none of the words known here.

use std::path::PathBuf;

use axum::http::StatusCode;
use sheets::live::Wanted;
use sheets::{Look, Names};

use super::trouble::Trouble;
use crate::cli::args::{self, File, Format, Pose};
use crate::cli::question::{self, Read};

/// Words of a query that are not names of drives or settings. The page takes them from its own document.
pub(crate) const WORDS: [&str; 38] = [
    "as",
    "drive",
    "from",
    "to",
    "step",
    "reading",
    "case",
    "machines",
    "seed",
    "most",
    "look",
    "scale",
    "ghost",
    "trace",
    "plane",
    "of",
    "with",
    "assemblies",
    "version",
    "by",
    "room",
    "stacked",
    "names",
    "radius",
    "strip",
    "goes",
    "coming",
    "on-a",
    "keep",
    "within",
    "speed",
    "unevenness",
    "poses",
    "run",
    "start",
    "cam",
    "cutter",
    "cam-step",
];

/// Places of a map on the page, across and upwards: finer than it can be seen.
const MAP_GRID: [usize; 2] = [361, 101];

/// Most words of a query.
const MOST_WORDS: usize = 200;

/// A query, word by word.
#[derive(Clone, Debug, Default)]
pub(crate) struct Query(Vec<(String, String)>);

impl Query {
    pub(crate) fn new(words: Vec<(String, String)>) -> Result<Self, Trouble> {
        if words.len() > MOST_WORDS {
            let sentence = "the link says too many things at once";
            return Err(Trouble::new(StatusCode::BAD_REQUEST, sentence));
        }
        Ok(Self(words))
    }

    /// What is said under this word first.
    pub(crate) fn get(&self, word: &str) -> Option<&str> {
        let found = self.0.iter().find(|(name, _)| name == word);
        found.map(|(_, value)| value.as_str())
    }

    fn owned(&self, word: &str) -> Option<String> {
        self.get(word).map(str::to_owned)
    }

    pub(crate) fn all(&self, word: &str) -> Vec<String> {
        let found = self.0.iter().filter(|(name, _)| name == word);
        found.map(|(_, value)| value.clone()).collect()
    }

    fn number<T: std::str::FromStr>(&self, word: &str, usual: T) -> Result<T, Trouble> {
        match self.get(word) {
            None => Ok(usual),
            Some(text) => text
                .trim()
                .parse()
                .map_err(|_| Trouble::refused(format!("{word} \"{text}\" is not a whole number"))),
        }
    }

    /// The same for the same question, whatever the order of names.
    pub(crate) fn key(&self) -> String {
        let mut words = self.0.clone();
        // Words said twice keep their order, which is that of the answer.
        words.sort_by(|a, b| a.0.cmp(&b.0));
        let lines = words.iter().map(|(a, b)| [a, "=", b, "\n"].concat());
        lines.collect::<Vec<_>>().concat()
    }

    /// Values by name.
    pub(crate) fn values(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().filter_map(|(name, value)| {
            let name = match name.strip_prefix("at.") {
                Some(name) => name,
                None if WORDS.contains(&name.as_str()) => return None,
                None => name,
            };
            Some((name, value.as_str()))
        })
    }

    /// Values as the command line takes them; that of the drive which is moved is left out.
    fn pose(&self, read: &Read, moved: Option<&str>) -> Pose {
        let (mut at, mut set) = (Vec::new(), Vec::new());
        for (name, value) in self.values().filter(|(name, _)| Some(*name) != moved) {
            let text = format!("{name} = {value}");
            let is_setting = read.machine.settings.iter().any(|s| s.name == name);
            if is_setting { &mut set } else { &mut at }.push(text);
        }
        Pose { at, set }
    }

    fn file(read: &Read) -> File {
        File {
            file: PathBuf::from(&read.file),
            unit: None,
            machine_as: args::As::Drawn,
            log: None,
        }
    }

    pub(crate) fn check(&self, read: &Read) -> args::Check {
        args::Check {
            file: Self::file(read),
            assemblies: self.get("assemblies").is_some(),
        }
    }

    pub(crate) fn motion(&self, read: &Read, format: Format) -> args::Motion {
        let drive = self.owned("drive");
        let first = read.machine.drives.first().map(|drive| drive.name.as_str());
        args::Motion {
            file: Self::file(read),
            pose: self.pose(read, drive.as_deref().or(first)),
            from: self.owned("from"),
            to: self.owned("to"),
            step: self.owned("step"),
            readings: self.all("reading"),
            drive,
            format,
            plot: None,
        }
    }

    /// A turn, and a map over two drives: `drive` goes across, `by` upwards.
    pub(crate) fn cycle(&self, read: &Read) -> Result<args::Cycle, Trouble> {
        let drive = self.owned("drive");
        let over = self.owned("by");
        let poses = self.number("poses", 5000)?;
        if !args::POSES.contains(&poses) {
            let [least, most] = [args::POSES.start(), args::POSES.end()];
            let sentence = format!("{poses} poses are not looked at");
            return Err(Trouble::refused(sentence)
                .what_to_do(format!("write a whole number from {least} to {most}")));
        }
        Ok(args::Cycle {
            file: Self::file(read),
            readings: self.all("reading"),
            pose: self.pose(read, drive.as_deref()),
            drive,
            within: self.all("within"),
            speed: self.owned("speed"),
            under: self.owned("case"),
            unevenness: self.owned("unevenness"),
            run: self.get("run").is_some(),
            let_go: match self.get("run") {
                None | Some("started") => false,
                Some("let-go") => true,
                Some(other) => {
                    return Err(Trouble::refused(format!("it is not run \"{other}\""))
                        .what_to_do("started or let-go"));
                }
            },
            from: self.owned("from"),
            start: self.owned("start"),
            until: 60.0,
            clearance: false,
            poses,
            points: self.all("point"),
            plot: None,
            over,
            map: None,
            grid: MAP_GRID,
            cam_table: None,
            cam: self.owned("cam"),
            cutter: self.owned("cutter"),
            cam_step: self.owned("cam-step"),
            format: Format::Text,
        })
    }

    pub(crate) fn load(&self, read: &Read, format: Format) -> Result<args::Load, Trouble> {
        Ok(args::Load {
            file: Self::file(read),
            case: self.owned("case"),
            drive: self.owned("drive"),
            from: self.owned("from"),
            to: self.owned("to"),
            step: self.owned("step"),
            pose: self.pose(read, None),
            most: self.number("most", 12)?,
            format,
            plot: None,
            arrows: None,
            shafts: None,
        })
    }

    pub(crate) fn sensitivity(&self, read: &Read) -> Result<args::Sensitivity, Trouble> {
        Ok(args::Sensitivity {
            file: Self::file(read),
            readings: self.all("reading"),
            pose: self.pose(read, None),
            most: self.number("most", 12)?,
        })
    }

    pub(crate) fn spread(&self, read: &Read, format: Format) -> Result<args::Spread, Trouble> {
        let machines = self.number("machines", 100_000)?;
        if !(1..=args::MOST_MACHINES).contains(&machines) {
            return Err(Trouble::refused(format!(
                "write a whole number of machines from 1 to {}",
                args::MOST_MACHINES
            )));
        }
        Ok(args::Spread {
            file: Self::file(read),
            readings: self.all("reading"),
            pose: self.pose(read, None),
            machines,
            seed: self.number("seed", 1)?,
            most: self.number("most", 8)?,
            format,
            plot: None,
        })
    }

    pub(crate) fn parts(read: &Read) -> args::Parts {
        args::Parts {
            file: Self::file(read),
            would_do: false,
            format: Format::Text,
        }
    }

    /// What is asked of the machine's log; the pose is that of the link.
    pub(crate) fn dial_in(&self, read: &Read, format: Format) -> Result<args::DialIn, Trouble> {
        Ok(args::DialIn {
            file: PathBuf::from(&read.file),
            unit: None,
            log: None,
            readings: Vec::new(),
            measured: Vec::new(),
            job: None,
            reads: Vec::new(),
            pose: self.pose(read, None),
            uncertainty: None,
            position: None,
            drive_zero: None,
            zero: None,
            sense: None,
            under: None,
            with: None,
            on: None,
            keep: false,
            blank: false,
            sheet: None,
            paper: args::Paper::A4,
            scale: false,
            reading: self.owned("reading"),
            drive: self.owned("drive"),
            radius: self.owned("radius"),
            step: self.owned("step"),
            on_a: match self.get("on-a") {
                None | Some("arc") => args::Laid::Arc,
                Some("ring") => args::Laid::Ring,
                Some("drum") => args::Laid::Drum,
                Some(other) => {
                    return Err(
                        Trouble::refused(format!("a scale is not laid on \"{other}\""))
                            .what_to_do("arc, ring or drum"),
                    );
                }
            },
            goes: match self.get("goes") {
                None => None,
                Some("pointer") => Some(args::Goes::Pointer),
                Some("scale") => Some(args::Goes::Scale),
                Some(other) => {
                    return Err(
                        Trouble::refused(format!("\"{other}\" does not go with a drive"))
                            .what_to_do("pointer or scale"),
                    );
                }
            },
            coming: match self.get("coming") {
                None => None,
                Some("up") => Some(args::Coming::Up),
                Some("down") => Some(args::Coming::Down),
                Some(other) => {
                    return Err(Trouble::refused(format!(
                        "a drive does not come to a mark \"{other}\""
                    ))
                    .what_to_do("up or down"));
                }
            },
            strip: self.owned("strip"),
            output: Vec::new(),
            most: self.number("most", 12)?,
            format,
            plot: None,
        })
    }

    pub(crate) fn draw(&self, read: &Read) -> Result<args::Draw, Trouble> {
        let scale = match self.get("scale") {
            Some(text) => Some(args::scale(text).map_err(|help| {
                Trouble::refused(format!("\"{text}\" is not a scale")).what_to_do(help)
            })?),
            None => None,
        };
        Ok(args::Draw {
            file: Self::file(read),
            output: PathBuf::new(),
            pose: self.pose(read, None),
            ghost: self.all("ghost"),
            trace: self.all("trace"),
            drive: self.owned("drive"),
            plane: self.owned("plane"),
            look: match self.look()? {
                Look::Print => args::Look::Print,
                Look::Board => args::Look::Board,
            },
            scale,
        })
    }

    /// How large the picture is to be and what is written on it.
    pub(crate) fn wanted(&self) -> Result<Wanted, Trouble> {
        let mut wanted = Wanted::default();
        if let Some(text) = self.get("room") {
            let sizes = text.split_once(',').and_then(|(width, height)| {
                Some([width.trim().parse().ok()?, height.trim().parse().ok()?])
            });
            wanted.room = sizes.ok_or_else(|| {
                Trouble::refused(format!("\"{text}\" is no width and height"))
                    .what_to_do("write both in mm, as in 260,160")
            })?;
        }
        if let Some(text) = self.get("scale") {
            let scale = text.trim().parse().map_err(|_| {
                Trouble::refused(format!("\"{text}\" is not a scale"))
                    .what_to_do("write mm of paper for one mm of the machine, as in 0.5")
            })?;
            wanted.scale = Some(scale);
        }
        if let Some(text) = self.get("keep") {
            let plane = |one: &str| {
                let (plane, at) = one.split_once(':')?;
                let (x, y) = at.split_once(',')?;
                Some((plane.parse().ok()?, [x.parse().ok()?, y.parse().ok()?]))
            };
            wanted.kept = text.split(';').filter_map(plane).collect();
        }
        wanted.stacked = self.get("stacked").is_some_and(|text| text != "0");
        wanted.names = match self.get("names") {
            None | Some("all") => Names::All,
            Some("parts") => Names::Parts,
            Some("none") => Names::None,
            Some(other) => {
                return Err(Trouble::refused(format!("no names are called \"{other}\""))
                    .what_to_do("all, parts or none"));
            }
        };
        Ok(wanted)
    }

    pub(crate) fn look(&self) -> Result<Look, Trouble> {
        match self.get("look") {
            None | Some("print") => Ok(Look::Print),
            Some("board") => Ok(Look::Board),
            Some(other) => Err(Trouble::refused(format!("there is no look \"{other}\""))
                .what_to_do("print or board")),
        }
    }

    /// Where the machine stands by the link.
    pub(crate) fn stands(&self, read: &Read) -> Result<studies::Stand, Trouble> {
        Ok(question::stand(read, &self.pose(read, None))?)
    }

    /// Where the machine stands by the link; as drawn where the link says nothing that can be done.
    pub(crate) fn stand(&self, read: &Read) -> studies::Stand {
        question::stand(read, &self.pose(read, None)).unwrap_or_else(|_| read.model.drawn())
    }
}
