//! Attacks on the page: from other sites, from other programs, by odd links, by bodies without end, by too much at once. None of them
//! gets in, reads outside the folder, or keeps the lever from moving.

use std::fs;
use std::io::{Read, Write};
use std::time::{Duration, Instant};

use crate::common::page::{Page, answer};
use crate::common::{Bench, project};
use serde_json::json;

fn embosser() -> (Bench, Page) {
    let bench = Bench::empty();
    let text = fs::read(project("examples/strap-embosser/machine.toml")).unwrap();
    bench.write("machine.toml", text);
    let shop = fs::read(project("examples/strap-embosser/shop.toml")).unwrap();
    bench.write("shop.toml", shop);
    let page = Page::open(&bench.path("machine.toml"));
    (bench, page)
}

/// A text with every byte of it escaped.
fn percent(text: &str) -> String {
    let escaped: Vec<String> = text.bytes().map(|byte| format!("%{byte:02x}")).collect();
    escaped.concat()
}

fn request(page: &Page, path: &str, headers: &str) -> u16 {
    let text = format!("GET {path} HTTP/1.1\r\n{headers}Connection: close\r\n\r\n");
    page.raw(text.as_bytes()).status
}

#[test]
fn only_the_link_opens_the_page() {
    let (_bench, page) = embosser();
    let (port, key) = (page.port, page.key.clone());
    let host = format!("Host: 127.0.0.1:{port}\r\n");
    assert_eq!(key.len(), 32);
    for path in [
        "/",
        "/?key=",
        "/?key=0",
        "/m/machine/motion",
        "/api/machines",
        "/assets/page.js",
    ] {
        assert_eq!(request(&page, path, &host), 403, "{path}");
    }
    let wrong: String = key.chars().rev().collect();
    assert_eq!(request(&page, &format!("/?key={wrong}"), &host), 403);
    for cookie in [
        format!("bellcrank-{port}={wrong}"),
        format!("bellcrank-{}={key}", port.wrapping_add(1)),
        format!("bellcrank-{port}={key}x"),
        format!("bellcrank-{port}="),
    ] {
        let headers = format!("{host}Cookie: {cookie}\r\n");
        assert_eq!(request(&page, "/api/machines", &headers), 403, "{cookie}");
    }
    // The key in a link opens the door alone, so that it does not stay in links.
    assert_eq!(
        request(&page, &format!("/api/machines?key={key}"), &host),
        403
    );
    let door =
        page.raw(format!("GET /?key={key} HTTP/1.1\r\n{host}Connection: close\r\n\r\n").as_bytes());
    assert_eq!(door.status, 303);
    assert_eq!(door.header("location"), Some("/m/machine/motion"));
    let cookie = door.header("set-cookie").unwrap();
    for word in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(word), "{cookie}");
    }
    let cookie = cookie.split(';').next().unwrap();
    let headers = format!("{host}Cookie: other=1; {cookie}\r\n");
    assert_eq!(request(&page, "/api/machines", &headers), 200);
}

#[test]
fn requests_of_other_sites_are_refused() {
    let (_bench, page) = embosser();
    let own = page.own();
    let cookie = own.lines().nth(1).unwrap().to_owned() + "\r\n";
    let port = page.port;
    for host in [
        "evil.example",
        "127.0.0.1",
        "127.0.0.1:1",
        "localhost",
        "[::1]:80",
        "",
    ] {
        let headers = format!("Host: {host}\r\n{cookie}");
        assert_ne!(request(&page, "/api/machines", &headers), 200, "{host}");
    }
    assert_ne!(request(&page, "/api/machines", &cookie), 200, "no host");
    let twice = format!("Host: 127.0.0.1:{port}\r\nHost: evil.example\r\n{cookie}");
    assert_ne!(request(&page, "/api/machines", &twice), 200);
    for line in [
        "Origin: http://evil.example",
        "Origin: null",
        "Origin: https://127.0.0.1",
        "Origin: http://127.0.0.1:1",
        "Sec-Fetch-Site: cross-site",
        "Sec-Fetch-Site: same-site",
    ] {
        let headers = format!("{own}{line}\r\n");
        assert_eq!(request(&page, "/api/machines", &headers), 403, "{line}");
    }
    let absolute = format!("http://evil.example:{port}/api/machines");
    assert_ne!(request(&page, &absolute, &own), 200);
    let good = format!("{own}Origin: http://127.0.0.1:{port}\r\nSec-Fetch-Site: same-origin\r\n");
    assert_eq!(request(&page, "/api/machines", &good), 200);
    let local = good.replace("127.0.0.1", "localhost");
    assert_eq!(request(&page, "/api/machines", &local), 200);
    // A form of another page can send text, but not JSON.
    let body = "{\"base\":0,\"changes\":[]}";
    for kind in [
        "text/plain",
        "application/x-www-form-urlencoded",
        "multipart/form-data",
        "",
    ] {
        let text = format!(
            "POST /api/m/machine/edit HTTP/1.1\r\n{own}Content-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
            body.len()
        );
        assert_eq!(page.raw(text.as_bytes()).status, 415, "{kind}");
    }
    for method in ["PUT", "OPTIONS", "TRACE", "CONNECT", "PATCH", "BREW"] {
        let text = format!("{method} /api/machines HTTP/1.1\r\n{own}Connection: close\r\n\r\n");
        let status = page.raw(text.as_bytes()).status;
        assert!([400, 403, 405].contains(&status), "{method} {status}");
    }
}

#[test]
fn every_answer_carries_the_safety_headers() {
    let (_bench, page) = embosser();
    for path in [
        "/m/machine/motion",
        "/api/machines",
        "/assets/page.css",
        "/nowhere",
        "/api/m/x/state",
    ] {
        let answer = page.get(path);
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.starts_with("default-src 'none'"), "{policy}");
        assert!(
            policy.contains("frame-ancestors 'none'") && !policy.contains("unsafe"),
            "{policy}"
        );
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"));
        assert_eq!(answer.header("referrer-policy"), Some("no-referrer"));
        assert!(answer.header("access-control-allow-origin").is_none());
    }
    let asset = page.get("/assets/page.js");
    let tag = asset.header("etag").unwrap();
    let again = format!("{}If-None-Match: {tag}\r\n", page.own());
    assert_eq!(request(&page, "/assets/page.js", &again), 304);
}

#[test]
fn nothing_outside_the_folder_is_read_or_written() {
    let outside = Bench::with("crank");
    let (bench, page) = embosser();
    #[cfg(unix)]
    {
        use std::os::unix::fs::symlink;
        symlink(outside.path("machine.toml"), bench.path("linked.toml")).unwrap();
        symlink(outside.folder(), bench.path("linked-folder")).unwrap();
        symlink("/dev/zero", bench.path("zero.toml")).unwrap();
    }
    let list = page.get("/api/machines").json();
    assert_eq!(list.as_array().unwrap().len(), 1, "{list}");
    let full = outside.path("machine").display().to_string();
    for name in [
        "..",
        ".",
        "",
        "linked",
        "linked-folder",
        "linked-folder/machine",
        "zero",
        "../machine",
        "/etc/passwd",
        &full,
        "machine/../machine",
        "machine\0",
        "machine.toml",
        ".bellcrank/machine",
        "C:\\x",
        "%2e%2e",
        "....//machine",
    ] {
        for twice in [false, true] {
            let mut path: String = percent(name);
            if twice {
                path = path.replace('%', "%25");
            }
            let answer = page.get(&format!("/api/m/{path}/state"));
            assert!(
                [400, 404].contains(&answer.status),
                "{name}: {}",
                answer.status
            );
            assert!(answer.json()["error"].is_string());
        }
    }
    for path in [
        "/assets/../Cargo.toml",
        "/assets/%2e%2e%2fCargo.toml",
        "/assets/..%5c..",
        "/../../etc/passwd",
        "//etc/passwd",
        "/m/%2e%2e/motion",
        "/assets/",
        "/m/machine/../../etc",
    ] {
        let answer = page.get(path);
        assert!(
            [400, 403, 404].contains(&answer.status),
            "{path}: {}",
            answer.status
        );
    }
    // Kept variants have plain names and lie in folders that are no links.
    for name in ["../machine", "..", "a/b", ".x", "a\0"] {
        let answer = page.post("/api/m/machine/keep", &json!({ "name": name }));
        assert_eq!(answer.status, 422, "{name}");
    }
    #[cfg(unix)]
    {
        page.state();
        let kept = bench.path(".bellcrank/kept");
        let _ = fs::remove_dir_all(&kept);
        std::os::unix::fs::symlink(outside.folder(), &kept).unwrap();
        let answer = page.post("/api/m/machine/keep", &json!({ "name": "x" }));
        assert_eq!(answer.status, 422, "{}", answer.text());
        assert_eq!(outside.names(), ["machine.toml"]);
    }
}

#[test]
fn odd_requests_are_answered_and_the_page_goes_on() {
    let (_bench, page) = embosser();
    let own = page.own();
    let long = "x".repeat(100_000);
    for bytes in [
        "\r\n\r\n".to_owned(),
        "GET\r\n\r\n".to_owned(),
        "\u{0}\u{1}\u{2}\r\n\r\n".to_owned(),
        format!("GET /{long} HTTP/1.1\r\n{own}\r\n"),
        format!("GET / HTTP/1.1\r\n{own}X: {long}\r\n\r\n"),
        format!("GET / HTTP/9.9\r\n{own}\r\n"),
        format!("GET /api/m/%ff%fe/state HTTP/1.1\r\n{own}Connection: close\r\n\r\n"),
        format!(
            "GET /m/machine/motion?{} HTTP/1.1\r\n{own}Connection: close\r\n\r\n",
            "a=1&".repeat(300)
        ),
        format!(
            "POST /api/m/machine/pose HTTP/1.1\r\n{own}Content-Type: application/json\r\nContent-Length: 99999999999\r\nConnection: close\r\n\r\n"
        ),
        format!(
            "POST /api/m/machine/pose HTTP/1.1\r\n{own}Content-Type: application/json\r\nContent-Length: -1\r\nConnection: close\r\n\r\n"
        ),
        format!(
            "POST /api/m/machine/pose HTTP/1.1\r\n{own}Content-Type: application/json\r\nTransfer-Encoding: chunked\r\nConnection: close\r\n\r\nzz\r\n"
        ),
    ] {
        let answer = page.raw(bytes.as_bytes());
        assert!(
            answer.status == 0 || answer.status >= 400,
            "{bytes:.80}: {}",
            answer.status
        );
    }
    let deep = format!("{}1{}", "[".repeat(100_000), "]".repeat(100_000));
    for body in [
        deep.clone(),
        format!("{{\"values\":{deep}}}"),
        "{".into(),
        "null".into(),
        "1e999".into(),
        "{\"values\":{\"set\":[]}}".into(),
        "{\"values\":{\"set\":\"1e400 deg\"}}".into(),
        "{\"values\":{\"set\":1e308}}".into(),
        "{\"values\":{\"\":1}}".into(),
        "{\"values\":7}".into(),
        "{\"values\":{\"set\":\"nan\"}}".into(),
        "{\"values\":{\"link-hole\":2.5}}".into(),
        "{\"values\":{\"link-hole\":-1}}".into(),
        "{\"values\":{\"down-rod\":1e9}}".into(),
    ] {
        for to in [
            "pose", "drag", "edit", "text", "undo", "spread", "keep", "restore",
        ] {
            let text = format!(
                "POST /api/m/machine/{to} HTTP/1.1\r\n{own}Content-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
                body.len()
            );
            let answer = page.raw(text.as_bytes());
            let told = [200, 400, 413, 422].contains(&answer.status);
            assert!(told, "{to} {body:.60}: {} {}", answer.status, answer.text());
        }
    }
    for pull in [
        json!({}),
        json!({ "body": "lever" }),
        json!({ "body": "lever", "grabbed": [0, 0], "to": [1e308, -1e308] }),
        json!({ "body": "frame", "grabbed": [0, 0], "to": [0, 0] }),
        json!({ "rod": "down-rod", "share": 1e300, "to": [0, 0] }),
        json!({ "point": "die", "plane": "side", "to": [0, 0] }),
        json!({ "point": "die", "plane": "nowhere", "to": [0, 0] }),
        json!({ "point": "die", "drive": "nothing", "to": [0, 0] }),
    ] {
        let answer = page.post("/api/m/machine/drag", &pull);
        assert!(
            [200, 422].contains(&answer.status),
            "{pull}: {}",
            answer.text()
        );
    }
    for question in [
        "motion?step=0",
        "motion?step=1e-12%20deg",
        "motion?from=1e300",
        "motion?drive=nothing",
        "motion?reading=x",
        "motion?set=999",
        "load?case=x",
        "load?step=-1",
        "load?most=x",
        "sensitivity?reading=gap&crank=1e9",
        "picture?room=1e99,1e99",
        "picture?room=x",
        "picture?scale=1e99",
        "picture?scale=nan",
        "picture?trace=x",
        "picture?trace=die&trace=anvil",
        "export/drawing.png?scale=1000000:1",
        "export/table.csv?of=x",
        "export/nothing",
        "compare?with=x",
        "kept?name=x",
    ] {
        let answer = page.get(&format!("/api/m/machine/{question}"));
        let told = [200, 404, 422].contains(&answer.status);
        assert!(told, "{question}: {} {}", answer.status, answer.text());
    }
    assert_eq!(page.state()["good"], true);
}

#[test]
fn a_body_without_end_is_cut_off() {
    let (_bench, page) = embosser();
    let mut stream = page.connect();
    let head = format!(
        "POST /api/m/machine/text HTTP/1.1\r\n{}Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n",
        page.own()
    );
    stream.write_all(head.as_bytes()).unwrap();
    let piece = [b"10000\r\n".as_slice(), &vec![b' '; 0x10000], b"\r\n"].concat();
    let mut sent = 0;
    while sent < 64 << 20 && stream.write_all(&piece).is_ok() {
        sent += 0x10000;
    }
    assert!(sent < 64 << 20, "all of it was taken");
    // A text that is larger than a machine file may be is refused whole.
    let base = page.state()["version"].clone();
    let put = json!({ "base": base, "text": "#".repeat((4 << 20) + 1) });
    assert_eq!(page.post("/api/m/machine/text", &put).status, 422);
    let put = json!({ "base": base, "text": "#".repeat(9 << 20) });
    assert_eq!(page.post("/api/m/machine/text", &put).status, 413);
    assert_eq!(page.state()["version"], base);
}

#[test]
fn slow_and_silent_clients_keep_nobody_waiting() {
    let (_bench, page) = embosser();
    let mut silent: Vec<_> = (0..100).map(|_| page.connect()).collect();
    let mut slow: Vec<_> = (0..50).map(|_| page.connect()).collect();
    for stream in &mut slow {
        let head = format!(
            "POST /api/m/machine/pose HTTP/1.1\r\n{}Content-Type: application/json\r\nContent-Length: 1000\r\n\r\n{{",
            page.own()
        );
        stream.write_all(head.as_bytes()).unwrap();
    }
    let begun = Instant::now();
    assert_eq!(page.post("/api/m/machine/pose", &json!({})).status, 200);
    assert!(begun.elapsed() < Duration::from_secs(5));
    // After a while they are let go.
    for stream in silent.iter_mut().take(3) {
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
    }
    for stream in slow.iter_mut().take(3) {
        let status = answer(stream).status;
        assert!([0, 408].contains(&status), "{status}");
    }
    let took = begun.elapsed();
    assert!(took < Duration::from_secs(45), "{took:?}");
}

#[test]
fn no_more_streams_than_there_is_room_for() {
    let (_bench, page) = embosser();
    let streams: Vec<_> = (0..64).map(|_| page.news()).collect();
    assert_eq!(page.get("/api/events").status, 503);
    assert_eq!(page.post("/api/m/machine/pose", &json!({})).status, 200);
    drop(streams);
    // Those that are gone are noticed by the next news.
    page.set(&["name"], "\"x\"");
    let latest = Instant::now() + Duration::from_secs(20);
    loop {
        page.set(&["note"], "\"x\"");
        let mut stream = page.connect();
        let head = format!("GET /api/events HTTP/1.1\r\n{}\r\n", page.own());
        stream.write_all(head.as_bytes()).unwrap();
        let mut bytes = [0; 12];
        stream.read_exact(&mut bytes).unwrap();
        if bytes.ends_with(b"200") {
            break;
        }
        assert!(Instant::now() < latest);
    }
}

#[test]
fn long_work_does_not_stop_the_lever() {
    let (_bench, page) = embosser();
    let job = page
        .post("/api/m/machine/spread", &json!({ "machines": 2_000_000 }))
        .json();
    let path = format!("/api/jobs/{}", job["job"]);
    std::thread::scope(|scope| {
        for _ in 0..6 {
            scope.spawn(|| {
                let answer = page.get("/api/m/machine/load?step=1");
                assert!([200, 422].contains(&answer.status));
            });
        }
        let mut times: Vec<Duration> = (0..100)
            .map(|turn| {
                let begun = Instant::now();
                let values =
                    json!({ "values": { "set": f64::from(turn) * 0.7, "crank": turn * 3 } });
                let answer = page.post("/api/m/machine/pose", &values);
                assert_eq!(answer.status, 200, "{}", answer.text());
                begun.elapsed()
            })
            .collect();
        times.sort();
        // A shared computer may be busy; what must not be is that a pose waits for the work.
        assert!(times[50] < Duration::from_millis(250), "{:?}", times[50]);
    });
    let stopped = page.send("DELETE", &path, &json!({})).json();
    assert_eq!(stopped["stopped"], true);
    let latest = Instant::now() + Duration::from_mins(1);
    loop {
        let told = page.get(&path).json();
        if let Some(error) = told["answer"]["error"].as_str() {
            assert!(error.contains("stopped"), "{error}");
            break;
        }
        if told["answer"].is_object() {
            break;
        }
        assert!(Instant::now() < latest, "{told}");
        std::thread::sleep(Duration::from_millis(50));
    }
    assert_eq!(page.get("/api/jobs/999").status, 404);
}
