//! Driving the page in a real browser: a folder with a machine, the program that serves it, and windows of a browser without a screen.
//!
//! It needs `chromium` and `chromedriver`; `./test` installs them where it may.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::missing_panics_doc,
    reason = "only tests use it, and a test that cannot go on fails"
)]

use std::fs;
use std::future::Future;
use std::io::{BufRead, BufReader, Read as _, Write as _};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::time::{Duration, Instant, SystemTime};

use serde_json::Value;
use thirtyfour::prelude::*;

/// The longest that anything on the page may take to show.
const PATIENCE: Duration = Duration::from_secs(15);

/// A program that ends with the test.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// The program, built once.
fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| {
        if let Some(program) = std::env::var_os("BELLCRANK") {
            return fs::canonicalize(program).unwrap();
        }
        let own = std::env::current_exe().unwrap();
        let name = format!("bellcrank{}", std::env::consts::EXE_SUFFIX);
        let program = own.parent().unwrap().parent().unwrap().join(name);
        // A build for all tests has left it there already. By itself it would be built anew, with other features of what it uses.
        let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("../crates");
        if fs::metadata(&program).is_ok_and(|p| p.modified().unwrap() > newest(&crates)) {
            return program;
        }
        let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
        let built = Command::new(cargo)
            .args(["build", "--quiet", "--package", "bellcrank"])
            .status()
            .unwrap();
        assert!(built.success(), "the program cannot be built");
        program
    })
}

/// When anything in a folder was changed last.
fn newest(folder: &Path) -> SystemTime {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    let times = entries.map(|entry| {
        if entry.file_type().unwrap().is_dir() {
            newest(&entry.path())
        } else {
            entry.metadata().unwrap().modified().unwrap()
        }
    });
    times.max().unwrap_or(SystemTime::UNIX_EPOCH)
}

/// A folder with `machine.toml` and the program serving it.
pub struct Shop {
    folder: tempfile::TempDir,
    server: Option<Running>,
    /// The link that opens the page.
    pub link: String,
    port: u16,
}

impl Shop {
    /// A shop in which an example of the project lies on the bench.
    pub fn example(name: &str) -> Self {
        let own = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
        let folder = tempfile::tempdir().unwrap();
        for file in fs::read_dir(own.join(name)).unwrap() {
            let file = file.unwrap().path();
            fs::copy(&file, folder.path().join(file.file_name().unwrap())).unwrap();
        }
        Self::of(folder)
    }

    /// A shop in which this machine lies on the bench.
    pub fn with(text: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("machine.toml"), text).unwrap();
        Self::of(folder)
    }

    /// A shop in which this machine and its log lie on the bench.
    pub fn with_log(text: &str, log: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("machine.toml"), text).unwrap();
        fs::write(folder.path().join("machine.log.toml"), log).unwrap();
        Self::of(folder)
    }

    fn of(folder: tempfile::TempDir) -> Self {
        let mut shop = Self {
            folder,
            server: None,
            link: String::new(),
            port: 0,
        };
        shop.open();
        shop
    }

    /// Starts the server, on the same port as before if there was one.
    pub fn open(&mut self) {
        let mut child = Command::new(program())
            .args(["open", "machine.toml", "--no-browser", "--port"])
            .arg(self.port.to_string())
            .current_dir(self.folder.path())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .unwrap();
        let mut link = String::new();
        let out = child.stdout.take().unwrap();
        BufReader::new(out).read_line(&mut link).unwrap();
        self.server = Some(Running(child));
        link.trim().clone_into(&mut self.link);
        let port = self.link.split(['/', ':']).nth(4).unwrap();
        self.port = port.parse().unwrap();
    }

    /// Ends the server as a crash would.
    pub fn crash(&mut self) {
        self.server = None;
    }

    /// Where a file of the shop lies.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The machine file.
    pub fn text(&self) -> String {
        fs::read_to_string(self.path("machine.toml")).unwrap()
    }

    /// Saves the machine file as a text editor does.
    pub fn save(&self, text: &str) {
        fs::write(self.path("machine.toml~"), text).unwrap();
        fs::rename(self.path("machine.toml~"), self.path("machine.toml")).unwrap();
    }

    /// What the command line prints of the machine file. Words after the command's name stand behind the file.
    pub fn says(&self, command: &str) -> String {
        let mut words = command.split(' ');
        let said = Command::new(program())
            .args(words.next())
            .arg("machine.toml")
            .args(words)
            .current_dir(self.folder.path())
            .output()
            .unwrap();
        String::from_utf8(said.stdout).unwrap()
    }

    /// The same link to another place of the page.
    pub fn at(&self, path: &str) -> String {
        format!("http://127.0.0.1:{}{path}", self.port)
    }
}

/// A browser without a screen.
pub struct Browser {
    driver: Running,
    port: u16,
    sessions: Vec<String>,
    homes: Vec<tempfile::TempDir>,
}

impl Drop for Browser {
    fn drop(&mut self) {
        // Also after a failed test: a driver that is killed leaves its browsers behind.
        for session in &self.sessions {
            let Ok(mut stream) = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port)) else {
                continue;
            };
            let end = format!(
                "DELETE /session/{session} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n\r\n",
                self.port
            );
            let _ = stream.set_read_timeout(Some(PATIENCE));
            let _ = stream.write_all(end.as_bytes());
            let _ = stream.read(&mut [0; 64]);
        }
        let _ = self.driver.0.kill();
    }
}

impl Browser {
    /// Starts the program through which a browser is driven.
    pub fn start() -> Self {
        let free = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let port = free.local_addr().unwrap().port();
        drop(free);
        let child = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver is needed for the tests in a browser; ./test installs it");
        let driver = Running(child);
        let latest = Instant::now() + PATIENCE;
        while TcpStream::connect((Ipv4Addr::LOCALHOST, port)).is_err() {
            assert!(Instant::now() < latest, "chromedriver does not answer");
            std::thread::sleep(Duration::from_millis(20));
        }
        Self {
            driver,
            port,
            sessions: Vec::new(),
            homes: Vec::new(),
        }
    }

    /// A new window of this size, in CSS pixels.
    pub async fn window(&mut self, width: u32, height: u32) -> Window {
        let home = tempfile::tempdir().unwrap();
        let mut caps = DesiredCapabilities::chrome();
        for arg in [
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            "--force-device-scale-factor=1",
        ] {
            caps.add_arg(arg).unwrap();
        }
        caps.add_arg(&format!("--user-data-dir={}", home.path().display()))
            .unwrap();
        caps.add_arg(&format!("--window-size={width},{height}"))
            .unwrap();
        let driver = WebDriver::new(format!("http://127.0.0.1:{}", self.port), caps)
            .await
            .unwrap();
        self.sessions.push(driver.session_id().to_string());
        self.homes.push(home);
        Window { driver }
    }

    /// Closes windows and browser.
    pub async fn close(mut self, windows: Vec<Window>) {
        for window in windows {
            let _ = window.driver.quit().await;
        }
        self.sessions.clear();
    }
}

/// A window of the browser.
pub struct Window {
    /// The driver, for what is not here.
    pub driver: WebDriver,
}

impl Window {
    /// Goes to a link and waits until the machine stands there.
    pub async fn open(&self, link: &str) {
        self.driver.goto(link).await.unwrap();
        self.until(
            "the machine",
            "document.querySelector('#plate svg') !== null",
        )
        .await;
    }

    /// What an expression of the page gives.
    pub async fn tell(&self, expression: &str) -> Value {
        let script = format!("return ({expression});");
        let ran = self.driver.execute(script.as_str(), Vec::new()).await;
        match ran {
            Ok(told) => told.json().clone(),
            Err(error) => panic!("{expression}: {error}"),
        }
    }

    /// What the body of an asynchronous function gives.
    pub async fn later(&self, body: &str) -> Value {
        let script = format!(
            "const done = arguments[arguments.length - 1]; (async () => {{ {body} }})().then(done, (e) => done(String(e)));"
        );
        let ran = self.driver.execute_async(script.as_str(), Vec::new()).await;
        match ran {
            Ok(told) => told.json().clone(),
            Err(error) => panic!("{body}: {error}"),
        }
    }

    /// Waits until an expression of the page is true.
    pub async fn until(&self, what: &str, expression: &str) {
        let latest = Instant::now() + PATIENCE;
        while self.tell(&format!("Boolean({expression})")).await != true {
            if Instant::now() > latest {
                let shown = self.tell("document.body.innerText").await;
                panic!("{what} never came: {expression}\n{shown}");
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    /// Presses the button of the mouse at the first place, moves over the others, and lets go at the last.
    pub async fn drag(&self, path: &[[f64; 2]]) {
        let whole = |at: [f64; 2]| (at[0].round() as i64, at[1].round() as i64);
        let mut chain = self.driver.action_chain();
        for (turn, &at) in path.iter().enumerate() {
            let (x, y) = whole(at);
            chain = chain.move_to(x, y);
            if turn == 0 {
                chain = chain.click_and_hold();
            }
        }
        chain.release().perform().await.unwrap();
    }

    /// Clicks an element.
    pub async fn click(&self, selector: &str) {
        let found = self.driver.find(By::Css(selector)).await.unwrap();
        found.click().await.unwrap();
    }

    /// Types keys at whatever has the focus.
    pub async fn keys(&self, keys: impl IntoIterator<Item = TypingData>) {
        for key in keys {
            let chain = self.driver.action_chain().send_keys(key);
            chain.perform().await.unwrap();
        }
    }

    /// Where a point of the machine is in the window.
    pub async fn place(&self, point: &str) -> [f64; 2] {
        let told = self
            .later(&format!(
                "const {{ board }} = await import('/assets/board.js');
                 const {{ desk }} = await import('/assets/desk.js');
                 const i = board.picture.points.findIndex((p) => p.name === '{point}');
                 const at = (desk.pose?.places ?? board.picture.places).points[i];
                 const view = document.querySelector(`g.view[data-view=\"${{board.picture.points[i].plane}}\"]`);
                 const q = new DOMPoint(at[0] * board.picture.scale, -at[1] * board.picture.scale).matrixTransform(view.getScreenCTM());
                 return [q.x, q.y];"
            ))
            .await;
        [0, 1].map(|i| {
            told[i]
                .as_f64()
                .unwrap_or_else(|| panic!("{point} is at {told}"))
        })
    }

    /// What a drive or setting stands at, in the unit in which it is read.
    pub async fn stands(&self, name: &str) -> f64 {
        let told = self
            .later(&format!(
                "const {{ desk }} = await import('/assets/desk.js'); return desk.pose.values['{name}'];"
            ))
            .await;
        told.as_f64().unwrap()
    }

    /// Waits until nothing is on its way any more.
    pub async fn ready(&self) {
        self.until(
            "a pose",
            "import('/assets/desk.js').then(() => true) && document.querySelector('#plate svg')",
        )
        .await;
        // At rest, and still at rest a moment later: whatever the rest set going has been answered too.
        let still = "const { desk } = await import('/assets/desk.js'); return desk.rests;";
        let latest = Instant::now() + PATIENCE;
        let mut rests = 0;
        while rests < 2 {
            assert!(Instant::now() < latest, "the machine never came to rest");
            let now = self.later(still).await == true;
            rests = if now { rests + 1 } else { 0 };
            tokio::time::sleep(Duration::from_millis(if now { 60 } else { 20 })).await;
        }
    }

    /// Presses and lets go at a place, as fast as a hand that is in a hurry.
    pub async fn touch(&self, [x, y]: [f64; 2]) {
        let chain = self.driver.action_chain();
        let (x, y) = (x.round() as i64, y.round() as i64);
        chain.move_to(x, y).click().perform().await.unwrap();
        tokio::time::sleep(Duration::from_millis(120)).await;
    }

    /// What stands in an element.
    pub async fn words(&self, selector: &str) -> String {
        let told = self
            .tell(&format!(
                "document.querySelector(`{selector}`)?.textContent ?? ''"
            ))
            .await;
        told.as_str().unwrap_or_default().to_owned()
    }

    /// Types into a field, instead of what is there, and leaves it.
    pub async fn fill(&self, selector: &str, text: &str) {
        let field = self.driver.find(By::Css(selector)).await.unwrap();
        field.click().await.unwrap();
        field.send_keys(Key::Control + "a").await.unwrap();
        field.send_keys(text).await.unwrap();
        field.send_keys(Key::Tab + "").await.unwrap();
    }

    /// Everything that can be reached by keyboard or read aloud, as a screen reader is told: role and name.
    pub async fn spoken(&self) -> Vec<(String, String)> {
        let dev = self.driver.cdp();
        let none = || serde_json::json!({});
        dev.send_raw("Accessibility.enable", none()).await.unwrap();
        let tree = dev
            .send_raw("Accessibility.getFullAXTree", none())
            .await
            .unwrap();
        let nodes = tree["nodes"].as_array().unwrap().iter();
        let shown = nodes.filter(|node| node["ignored"] != true);
        shown
            .map(|node| {
                let word = |key: &str| node[key]["value"].as_str().unwrap_or_default().to_owned();
                (word("role"), word("name"))
            })
            .collect()
    }

    /// A picture of the window, for looking at; written where `SCREENSHOTS` says, if it says anything.
    pub async fn picture(&self, name: &str) {
        if let Some(folder) = std::env::var_os("SCREENSHOTS") {
            self.picture_in(Path::new(&folder), name).await;
        }
    }

    /// A picture of the window, written into a folder.
    pub async fn picture_in(&self, folder: &Path, name: &str) {
        fs::create_dir_all(folder).unwrap();
        let path = folder.join(format!("{name}.png"));
        self.driver.screenshot(&path).await.unwrap();
    }

    /// Makes the window look as on a screen of this size, in a `dark` room or a `light` one.
    pub async fn looks_like(&self, (width, height): (u32, u32), light: &str) {
        let dev = self.driver.cdp();
        let size = serde_json::json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
        dev.send_raw("Emulation.setDeviceMetricsOverride", size)
            .await
            .unwrap();
        let media =
            serde_json::json!({ "features": [{ "name": "prefers-color-scheme", "value": light }] });
        dev.send_raw("Emulation.setEmulatedMedia", media)
            .await
            .unwrap();
    }
}

/// Words alone: the page sets in lines of its own what a command wraps.
pub fn bare(words: &str) -> String {
    let seen = words.chars().filter(|c| !c.is_whitespace());
    seen.flat_map(char::to_lowercase).collect()
}

/// Runs a test to its end.
pub fn run(test: impl Future<Output = ()>) {
    tokio::runtime::Builder::new_current_thread()
        .enable_io()
        .enable_time()
        .build()
        .unwrap()
        .block_on(test);
}
