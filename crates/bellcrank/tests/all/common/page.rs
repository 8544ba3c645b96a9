//! The page as a browser meets it: the program is started on a free port and spoken to over plain TCP, so that a test can also say what no
//! browser would.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// A page that is being served; it ends with the test.
pub(crate) struct Page {
    child: Child,
    pub(crate) port: u16,
    pub(crate) key: String,
}

/// What came back.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: Vec<u8>,
}

impl Answer {
    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        let lines = self.head.lines().filter_map(|line| line.split_once(": "));
        let mut found = lines.filter(|(known, _)| known.eq_ignore_ascii_case(name));
        found.next().map(|(_, value)| value)
    }

    pub(crate) fn text(&self) -> String {
        String::from_utf8(self.body.clone()).unwrap()
    }

    pub(crate) fn json(&self) -> Value {
        serde_json::from_slice(&self.body)
            .unwrap_or_else(|error| panic!("{error}: {} {}", self.head, self.text()))
    }
}

impl Page {
    /// Opens a machine file.
    pub(crate) fn open(file: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_bellcrank"))
            .args(["open", "--no-browser", "--json"])
            .arg(file.file_name().unwrap())
            .current_dir(file.parent().unwrap())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut text = String::new();
        while !text.ends_with("}\n}\n") && out.read_line(&mut text).unwrap() > 0 {}
        let opened: Value = serde_json::from_str(&text).unwrap();
        let answer = &opened["answer"];
        let link = answer["link"].as_str().unwrap();
        Self {
            child,
            port: u16::try_from(answer["port"].as_u64().unwrap()).unwrap(),
            key: link.split_once("key=").unwrap().1.to_owned(),
        }
    }

    /// Headers that the page itself sends.
    pub(crate) fn own(&self) -> String {
        format!(
            "Host: 127.0.0.1:{0}\r\nCookie: bellcrank-{0}={1}\r\n",
            self.port, self.key
        )
    }

    pub(crate) fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_mins(1)))
            .unwrap();
        stream
    }

    /// Sends these bytes and reads the answer to its end.
    pub(crate) fn raw(&self, bytes: &[u8]) -> Answer {
        let mut stream = self.connect();
        // The server may hang up before it has taken everything.
        let _ = stream.write_all(bytes);
        answer(&mut stream)
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        let head = format!(
            "GET {path} HTTP/1.1\r\n{}Connection: close\r\n\r\n",
            self.own()
        );
        self.raw(head.as_bytes())
    }

    pub(crate) fn send(&self, method: &str, path: &str, body: &Value) -> Answer {
        let body = body.to_string();
        let head = format!(
            "{method} {path} HTTP/1.1\r\n{}Content-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
            self.own(),
            body.len()
        );
        self.raw([head.as_bytes(), body.as_bytes()].concat().as_slice())
    }

    pub(crate) fn post(&self, path: &str, body: &Value) -> Answer {
        self.send("POST", path, body)
    }

    /// How the machine stands.
    pub(crate) fn state(&self) -> Value {
        let answer = self.get("/api/m/machine/state");
        assert_eq!(answer.status, 200, "{}", answer.text());
        answer.json()
    }

    /// Sets one value in the text as it is now.
    pub(crate) fn set(&self, at: &[&str], value: &str) -> Answer {
        let base = self.state()["version"].clone();
        let change = json!({ "set": { "at": at, "value": value } });
        self.post(
            "/api/m/machine/edit",
            &json!({ "base": base, "say": "set", "changes": [change] }),
        )
    }

    pub(crate) fn undo(&self) -> Answer {
        let base = self.state()["version"].clone();
        self.post("/api/m/machine/undo", &json!({ "base": base }))
    }

    pub(crate) fn redo(&self) -> Answer {
        let base = self.state()["version"].clone();
        self.post("/api/m/machine/redo", &json!({ "base": base }))
    }

    /// Waits until the state is as it should be.
    pub(crate) fn until(&self, what: &str, is: impl Fn(&Value) -> bool) -> Value {
        let latest = Instant::now() + Duration::from_secs(20);
        loop {
            let state = self.state();
            if is(&state) {
                return state;
            }
            assert!(Instant::now() < latest, "{what} never came: {state}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// News about a machine, line by line.
    pub(crate) fn news(&self) -> News {
        let mut stream = self.connect();
        let head = format!("GET /api/events?m=machine HTTP/1.1\r\n{}\r\n", self.own());
        stream.write_all(head.as_bytes()).unwrap();
        let mut news = News {
            lines: BufReader::new(stream),
        };
        news.wait("hello");
        news
    }

    /// Ends it as a crash would.
    pub(crate) fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What a window hears.
pub(crate) struct News {
    lines: BufReader<TcpStream>,
}

impl News {
    /// Waits for news of this kind and gives what they say.
    pub(crate) fn wait(&mut self, kind: &str) -> Value {
        let wanted = format!("event: {kind}");
        let mut line = String::new();
        loop {
            line.clear();
            assert!(self.lines.read_line(&mut line).unwrap() > 0, "no more news");
            if line.trim_end() == wanted {
                line.clear();
                self.lines.read_line(&mut line).unwrap();
                return serde_json::from_str(line.trim_start_matches("data: ")).unwrap();
            }
        }
    }
}

/// Reads an answer to its end.
pub(crate) fn answer(stream: &mut TcpStream) -> Answer {
    let mut bytes = Vec::new();
    let mut piece = [0; 1 << 14];
    loop {
        match stream.read(&mut piece) {
            Ok(0) => break,
            Ok(count) => bytes.extend_from_slice(&piece[..count]),
            // A server that refuses a large body hangs up on the rest of it.
            Err(error) if error.kind() == std::io::ErrorKind::ConnectionReset => break,
            Err(error) => panic!("{error}"),
        }
        if let Some(end) = head_end(&bytes) {
            let head = String::from_utf8_lossy(&bytes[..end]).to_lowercase();
            let length = head
                .lines()
                .find_map(|line| line.strip_prefix("content-length: "))
                .and_then(|length| length.parse::<usize>().ok());
            if length.is_some_and(|length| bytes.len() >= end + 4 + length) {
                break;
            }
        }
    }
    let end = head_end(&bytes).unwrap_or(bytes.len());
    let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
    let status = head.split(' ').nth(1).and_then(|code| code.parse().ok());
    let body = bytes.get(end + 4..).unwrap_or_default().to_vec();
    let chunked = head.to_lowercase().contains("transfer-encoding: chunked");
    Answer {
        status: status.unwrap_or(0),
        head,
        body: if chunked { joined(&body) } else { body },
    }
}

fn head_end(bytes: &[u8]) -> Option<usize> {
    bytes.windows(4).position(|four| four == b"\r\n\r\n")
}

/// A body sent in pieces.
fn joined(mut bytes: &[u8]) -> Vec<u8> {
    let mut whole = Vec::new();
    while let Some(end) = bytes.windows(2).position(|two| two == b"\r\n") {
        let size = String::from_utf8_lossy(&bytes[..end]);
        let size = usize::from_str_radix(size.trim(), 16).unwrap_or(0);
        if size == 0 || bytes.len() < end + 4 + size {
            break;
        }
        whole.extend_from_slice(&bytes[end + 2..end + 2 + size]);
        bytes = &bytes[end + 4 + size..];
    }
    whole
}
