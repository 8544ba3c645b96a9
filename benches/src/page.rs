//! The page as a browser meets it: how long the server works on a pose and on a drag, and how long until the first picture is there.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Instant;

use crate::clock;
use crate::start::program;

/// Moves of one pull at the lever.
const MOVES: u32 = 500;
/// Starts of which the median counts.
const STARTS: usize = 11;

/// A page that is served while it is measured, in a folder of its own.
struct Page {
    child: Child,
    folder: PathBuf,
    stream: BufReader<TcpStream>,
    head: String,
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        let _ = fs::remove_dir_all(&self.folder);
    }
}

impl Page {
    fn open(program: &Path) -> Option<Self> {
        let folder = std::env::temp_dir().join(format!("bellcrank-bench-{}", std::process::id()));
        fs::create_dir_all(&folder).ok()?;
        let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/strap-embosser");
        // The machine does not go without its shop.
        for file in fs::read_dir(example).ok()?.flatten() {
            fs::copy(file.path(), folder.join(file.file_name())).ok()?;
        }
        let mut child = Command::new(program)
            .args(["open", "machine.toml", "--no-browser"])
            .current_dir(&folder)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .ok()?;
        let mut link = String::new();
        BufReader::new(child.stdout.take()?)
            .read_line(&mut link)
            .ok()?;
        let (address, key) = link.trim().strip_prefix("http://")?.split_once("/?key=")?;
        let (_, port) = address.split_once(':')?;
        let stream = TcpStream::connect(address).ok()?;
        stream.set_nodelay(true).ok()?;
        Some(Self {
            child,
            folder,
            head: format!("Host: {address}\r\nCookie: bellcrank-{port}={key}\r\n"),
            stream: BufReader::new(stream),
        })
    }

    /// Head and body of an answer.
    fn ask(&mut self, method: &str, path: &str, body: &str) -> Option<(String, String)> {
        let request = format!(
            "{method} {path} HTTP/1.1\r\n{}Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            self.head,
            body.len()
        );
        self.stream.get_mut().write_all(request.as_bytes()).ok()?;
        let mut head = String::new();
        while !head.ends_with("\r\n\r\n") {
            if self.stream.read_line(&mut head).ok()? == 0 {
                return None;
            }
        }
        let length = head
            .lines()
            .find_map(|line| line.strip_prefix("content-length: "))?;
        let mut body = vec![0; length.parse().ok()?];
        self.stream.read_exact(&mut body).ok()?;
        let told = head.starts_with("HTTP/1.1 200");
        told.then(|| (head, String::from_utf8_lossy(&body).into_owned()))
    }

    /// Milliseconds that the server worked, and that the whole took, of every move.
    fn moves(&mut self, path: &str, body: impl Fn(u32) -> String) -> Option<[Vec<f64>; 2]> {
        let (mut worked, mut took) = (Vec::new(), Vec::new());
        for turn in 0..MOVES {
            let begun = Instant::now();
            let (head, _) = self.ask("POST", path, &body(turn))?;
            took.push(begun.elapsed().as_secs_f64() * 1000.0);
            let timing = head
                .lines()
                .find_map(|line| line.strip_prefix("server-timing: work;dur="))?;
            worked.push(timing.parse().ok()?);
        }
        worked.sort_by(f64::total_cmp);
        took.sort_by(f64::total_cmp);
        Some([worked, took])
    }
}

/// The value below which such a share of all lies.
fn share(sorted: &[f64], share: f64) -> f64 {
    let last = sorted.len().saturating_sub(1);
    let at = (share * last as f64).round() as usize;
    sorted.get(at).copied().unwrap_or(f64::NAN)
}

pub(crate) fn page() {
    if measure().is_none() {
        eprintln!("the page of the embosser does not answer");
        std::process::exit(1);
    }
    in_a_browser();
}

/// From pointer to picture, where there is a browser.
fn in_a_browser() {
    let Some(program) = program() else { return };
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    // What drives the browser is not what is measured: it is built as for the tests, where it is most likely built already.
    let pace = ["-p", "browser", "--example", "pace"];
    let cargo = |words: &[&str]| {
        let mut command = Command::new(&cargo);
        command.args(words).args(pace).env("BELLCRANK", &program);
        command.status().is_ok_and(|status| status.success())
    };
    if !cargo(&["build"]) {
        eprintln!("what drives the browser cannot be built");
        std::process::exit(1);
    }
    if !cargo(&["run", "-q"]) {
        eprintln!("no browser was driven: it needs chromium and chromedriver");
    }
}

fn measure() -> Option<()> {
    let program = program()?;
    let mut starts = Vec::new();
    for _ in 0..STARTS {
        let begun = Instant::now();
        let mut page = Page::open(&program)?;
        let (_, html) = page.ask("GET", "/m/machine/motion", "")?;
        starts.push(begun.elapsed().as_secs_f64() * 1000.0);
        if !html.contains("<svg") {
            return None;
        }
    }
    starts.sort_by(f64::total_cmp);
    clock::time("page-first-picture", share(&starts, 0.5), "ms", 200.0);

    let mut page = Page::open(&program)?;
    let degrees = |turn: u32| 70.0 * (0.5 - 0.5 * (f64::from(turn) * 0.05).cos());
    let pose = |turn: u32| format!("{{\"values\":{{\"set\":{},\"crank\":90}}}}", degrees(turn));
    // The grip goes round its stud.
    let drag = |turn: u32| {
        let (sin, cos) = (105.0 - degrees(turn)).to_radians().sin_cos();
        format!(
            "{{\"values\":{{\"set\":{},\"crank\":90}},\"plane\":\"front\",\"point\":\"lever-grip\",\"to\":[{},{}]}}",
            degrees(turn.saturating_sub(1)),
            156.0 + 230.0 * cos,
            315.0 + 230.0 * sin
        )
    };
    let [worked, took] = page.moves("/api/m/machine/pose", pose)?;
    clock::time("page-pose-p50", share(&worked, 0.5), "ms", 2.0);
    clock::time("page-pose-p99", share(&worked, 0.99), "ms", 4.0);
    clock::time("page-pose-round-trip-p99", share(&took, 0.99), "ms", 8.0);
    let [worked, took] = page.moves("/api/m/machine/drag", drag)?;
    clock::time("page-drag-p50", share(&worked, 0.5), "ms", 2.0);
    clock::time("page-drag-p99", share(&worked, 0.99), "ms", 4.0);
    clock::time("page-drag-round-trip-p99", share(&took, 0.99), "ms", 8.0);
    Some(())
}
