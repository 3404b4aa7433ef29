//! `loosedepth open`: the page's requests, sent as any program of this machine could send them.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod support;

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};
use support::{assert_as_kept, collection, demo, features, loosedepth, ring};

/// A running page. It ends with this.
struct Page {
    child: Child,
    port: u16,
    token: String,
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What came back.
struct Reply {
    status: u16,
    head: String,
    body: Vec<u8>,
}

impl Reply {
    fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|_| panic!("{}", self.text()))
    }

    fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// The answer of a request that was done.
    fn done(self) -> Value {
        assert_eq!(self.status, 200, "{}", self.text());
        self.json()
    }

    /// All sentences of an answer that is no.
    fn refusal(&self) -> String {
        assert!(self.status >= 400, "{}", self.text());
        let told = self.json();
        let because = told["because"].as_array().unwrap().iter();
        let lines = std::iter::once(&told["error"]).chain(because);
        lines.map(|line| line.as_str().unwrap()).collect::<Vec<_>>().join("\n")
    }
}

impl Page {
    fn open(folder: &Path) -> Page {
        Page::open_in(folder.parent().unwrap(), folder.file_name().unwrap().to_str().unwrap())
    }

    fn open_in(at: &Path, folder: &str) -> Page {
        let mut child = Command::new(env!("CARGO_BIN_EXE_loosedepth"))
            .args(["open", folder, "--no-browser"])
            .current_dir(at)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().rsplit(' ').next().unwrap();
        let (port, token) =
            address.strip_prefix("http://127.0.0.1:").unwrap().split_once('/').unwrap();
        let token = token.trim_end_matches('/').to_owned();
        Page { child, port: port.parse().unwrap(), token }
    }

    /// Sends a request as it stands here: the path from the root, the headers but the length.
    fn raw(&self, method: &str, path: &str, headers: &[&str], body: &[u8]) -> Reply {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(300))).unwrap();
        let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        for header in headers {
            head += &format!("{header}\r\n");
        }
        let has_length = ["Content-Length", "Transfer-Encoding"];
        if !headers.iter().any(|header| has_length.iter().any(|name| header.starts_with(name))) {
            head += &format!("Content-Length: {}\r\n", body.len());
        }
        stream.write_all(format!("{head}\r\n").as_bytes()).unwrap();
        // A page that has answered already reads no more.
        let _ = stream.write_all(body);
        let mut all = Vec::new();
        let _ = stream.read_to_end(&mut all);
        let end = all.windows(4).position(|it| it == b"\r\n\r\n").expect("a head");
        let head = String::from_utf8(all[..end].to_vec()).unwrap();
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        assert!(!head.to_lowercase().contains("transfer-encoding"), "{head}");
        Reply { status, head, body: all[end + 4..].to_vec() }
    }

    fn host(&self) -> String {
        format!("Host: 127.0.0.1:{}", self.port)
    }

    fn get(&self, path: &str) -> Reply {
        self.raw("GET", &format!("/{}/{path}", self.token), &[&self.host()], b"")
    }

    fn post(&self, path: &str, body: &Value) -> Reply {
        let path = format!("/{}/{path}", self.token);
        let headers = [&self.host()[..], "Content-Type: application/json"];
        self.raw("POST", &path, &headers, body.to_string().as_bytes())
    }

    fn state(&self) -> Value {
        self.get("api/state").done()
    }

    /// Drops files on the page (RFC 7578).
    fn drop_files(&self, query: &str, files: &[(&str, &[u8])]) -> Reply {
        let mut body = Vec::new();
        for (name, bytes) in files {
            let head = format!(
                "--edge\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\
                 Content-Type: application/octet-stream\r\n\r\n"
            );
            body.extend_from_slice(head.as_bytes());
            body.extend_from_slice(bytes);
            body.extend_from_slice(b"\r\n");
        }
        body.extend_from_slice(b"--edge--\r\n");
        let path = format!("/{}/api/files{query}", self.token);
        let headers = [&self.host()[..], "Content-Type: multipart/form-data; boundary=edge"];
        self.raw("POST", &path, &headers, &body)
    }

    fn run(&self, command: &str, choices: &Value, replace: bool) -> Reply {
        let body = json!({ "command": command, "choices": choices, "replace": replace });
        self.post("api/run", &body)
    }

    fn job(&self, id: &Value) -> Value {
        self.get(&format!("api/jobs/{}", id.as_str().unwrap())).done()
    }

    /// Waits until a job has ended.
    fn ended(&self, id: &Value) -> Value {
        loop {
            let job = self.job(id);
            if job["state"] != "running" {
                return job;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    }
}

/// A copy of the demo field with some of its visits.
fn demo_field(at: &Path, visits: &[&str]) -> PathBuf {
    let folder = at.join("north-bench");
    fs::create_dir_all(folder.join("visits")).unwrap();
    for name in
        ["boundary.geojson", "loosedepth.toml", "rates.toml", "strata.geojson", "weather.csv"]
    {
        fs::copy(demo(name), folder.join(name)).unwrap();
    }
    for day in visits {
        let name = format!("visits/{day}.geojson");
        fs::copy(demo(&name), folder.join(&name)).unwrap();
    }
    folder
}

/// Twenty readings of a day.
fn readings(day: &str) -> Vec<u8> {
    let mut all = features();
    for feature in &mut all {
        feature["properties"]["date"] = json!(day);
    }
    collection(&all).into_bytes()
}

fn outline() -> Vec<u8> {
    json!({ "type": "Polygon", "coordinates": [ring()] }).to_string().into_bytes()
}

/// Every file below a folder, by its path there.
fn tree(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut all = BTreeMap::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(at) = folders.pop() {
        for entry in fs::read_dir(at).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().display().to_string();
                all.insert(name, fs::read(path).unwrap());
            }
        }
    }
    all
}

/// What the program says on the terminal when it fails, without what marks the lines.
fn told(stderr: &str) -> String {
    let lines = stderr.lines().filter(|line| !line.starts_with("note: "));
    let plain = lines.map(|line| {
        line.strip_prefix("error: ").or(line.strip_prefix("  because: ")).unwrap_or(line)
    });
    plain.collect::<Vec<_>>().join("\n")
}

#[test]
fn the_help_is_as_kept() {
    let run = loosedepth(Path::new("."), &["open", "--help"]);
    assert_eq!(run.exit, 0);
    assert_as_kept(&run.stdout, "help_open.txt");
}

#[test]
fn the_page_answers_this_machine_alone() {
    let at = tempfile::tempdir().unwrap();
    let page = Page::open_in(at.path(), ".");
    let path = format!("/{}/api/state", page.token);
    let ours = page.host();
    let status = |path: &str, headers: &[&str]| page.raw("GET", path, headers, b"").status;
    assert_eq!(page.token.len(), 32, "128 bits");
    assert_eq!(status(&path, &[&ours]), 200);
    assert_eq!(status(&path, &[&format!("Host: localhost:{}", page.port)]), 200);
    for host in
        ["Host: example.org", "Host: 127.0.0.1", "Host: 127.0.0.1.example.org", "Host: ", "X: y"]
    {
        assert!([400, 403].contains(&status(&path, &[host])), "{host}");
    }
    assert!([400, 403].contains(&status(&path, &[&ours, "Host: example.org"])), "two hosts");
    for (origin, wanted) in [
        (format!("Origin: http://127.0.0.1:{}", page.port), 200),
        ("Origin: http://example.org".into(), 403),
        ("Origin: null".into(), 403),
        (format!("Origin: https://127.0.0.1:{}", page.port), 403),
    ] {
        assert_eq!(status(&path, &[&ours, &origin]), wanted, "{origin}");
    }
    let other = format!("{}/api/state", &page.token[1..]);
    for path in [
        "/",
        "/api/state",
        "/api/files",
        "/favicon.ico",
        &format!("/{other}"),
        &format!("/g{other}"),
    ] {
        assert_eq!(status(path, &[&ours]), 404, "{path}");
    }
    let reply = page.get("api/state");
    for header in [
        "content-security-policy: default-src 'none'; script-src 'self'; style-src 'self'; ",
        "referrer-policy: no-referrer",
        "x-content-type-options: nosniff",
        "cache-control: no-store",
    ] {
        assert!(reply.head.contains(header), "{header} is not in {}", reply.head);
    }
    let refused = page.raw("GET", &path, &["Host: example.org"], b"");
    assert!(refused.head.contains("content-security-policy: "), "also of what is refused");
}

#[test]
#[cfg(target_os = "linux")]
fn the_page_listens_at_the_loopback_address_alone() {
    let at = tempfile::tempdir().unwrap();
    let page = Page::open_in(at.path(), ".");
    // proc(5): local address and port in hexadecimal digits, 0A is LISTEN.
    let port = format!(":{:04X}", page.port);
    for (file, wanted) in [("/proc/net/tcp", vec!["0100007F"]), ("/proc/net/tcp6", vec![])] {
        let text = fs::read_to_string(file).unwrap_or_default();
        let listening = text.lines().filter_map(|line| {
            let parts: Vec<&str> = line.split_whitespace().collect();
            (parts.len() > 3 && parts[3] == "0A").then(|| parts[1].strip_suffix(port.as_str()))?
        });
        assert_eq!(listening.collect::<Vec<_>>(), wanted, "{file}");
    }
}

#[test]
fn too_much_is_refused() {
    let at = tempfile::tempdir().unwrap();
    let page = Page::open_in(at.path(), "field");
    for (path, kind, most) in [
        ("api/rates", "application/json", 2_u64 << 20),
        ("api/files", "multipart/form-data; boundary=edge", 300 << 20),
    ] {
        // The length is told and nothing sent: it is refused before it is read.
        let length = format!("Content-Length: {}", most + 1);
        let path = format!("/{}/{path}", page.token);
        let headers = [&page.host()[..], &format!("Content-Type: {kind}"), &length];
        let reply = page.raw("POST", &path, &headers, b"");
        assert_eq!(reply.status, 413, "{}", reply.text());
    }
    // In pieces of which the length is not told (RFC 9112, section 7.1).
    let piece = format!("{:x}\r\n{}\r\n0\r\n\r\n", 3 << 20, " ".repeat(3 << 20));
    let headers =
        [&page.host()[..], "Content-Type: application/json", "Transfer-Encoding: chunked"];
    let path = format!("/{}/api/rates", page.token);
    let reply = page.raw("POST", &path, &headers, piece.as_bytes());
    assert_eq!(reply.status, 413, "{}", reply.text());
    let form = [&page.host()[..], "Content-Type: text/plain"];
    let path = format!("/{}/api/choices", page.token);
    assert_eq!(page.raw("POST", &path, &form, b"{}").status, 415, "no form of another site");
    assert!(!at.path().join("field").exists(), "nothing was made");
}

#[test]
fn results_are_given_out_and_nothing_else() {
    let at = tempfile::tempdir().unwrap();
    let folder = at.path().join("field");
    fs::create_dir_all(folder.join("results/2025-04-14")).unwrap();
    fs::write(folder.join("results/2025-04-14/map.png"), b"picture").unwrap();
    fs::write(folder.join("results/.hidden"), b"hidden").unwrap();
    fs::write(folder.join("secret.txt"), b"secret").unwrap();
    fs::write(at.path().join("outside.txt"), b"outside").unwrap();
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(at.path(), folder.join("results/up")).unwrap();
        std::os::unix::fs::symlink(at.path().join("outside.txt"), folder.join("results/out.txt"))
            .unwrap();
    }
    let page = Page::open(&folder);
    assert_eq!(page.get("api/results/.hidden").status, 404, "it is not listed either");
    let reply = page.get("api/results/2025-04-14/map.png");
    assert_eq!((reply.status, &reply.body[..]), (200, &b"picture"[..]));
    assert!(reply.head.contains("content-disposition: attachment"), "{}", reply.head);
    let absolute = folder.join("secret.txt").display().to_string();
    for path in [
        "../secret.txt",
        "2025-04-14/../../secret.txt",
        "%2e%2e/secret.txt",
        "..%2fsecret.txt",
        "%2e%2e%2f%2e%2e%2foutside.txt",
        "..%5csecret.txt",
        &absolute,
        &absolute.replace('/', "%2f"),
        "up/outside.txt",
        "out.txt",
        "2025-04-14",
        "",
        "map.png%00",
    ] {
        assert_eq!(page.get(&format!("api/results/{path}")).status, 404, "{path}");
    }
    let names: Vec<Value> =
        page.state()["results"].as_array().unwrap().iter().map(|it| it["path"].clone()).collect();
    assert_eq!(names, ["2025-04-14/map.png"]);
    let zip = page.get("api/results.zip");
    assert!(zip.status == 200 && zip.body.starts_with(b"PK"));
    assert!(page.get("api/results.zip").body == zip.body, "the same results, the same bytes");

    fs::write(folder.join("loosedepth.toml"), "results = \"..\"\n").unwrap();
    assert_eq!(page.get("api/results/outside.txt").status, 404);
    assert_eq!(page.state()["results"], json!([]));
}

#[test]
fn only_flags_of_the_page_reach_a_command() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let page = Page::open(&folder);
    for (command, flag, value) in [
        ("map", "out", "/tmp/x"),
        ("map", "config", "/etc/passwd"),
        ("map", "boundary", "boundary.geojson"),
        ("map", "method --out", "x"),
        ("map", "earlier-zones", "../zones.geojson"),
        ("map", "title", "a\u{0}b"),
        ("plan", "rates", "rates.toml"),
        ("inspect", "units", "us"),
    ] {
        let choices = json!({ "flags": { command: { flag: value } } });
        for reply in [page.post("api/choices", &choices), page.run("map", &choices, false)] {
            assert_eq!(reply.status, 422, "{command} --{flag} {value}: {}", reply.text());
        }
    }
    assert_eq!(page.post("api/choices", &json!({ "visit": "--out=/tmp/x" })).status, 422);
    assert_eq!(page.run("open", &json!({}), false).status, 404);
    assert!(!folder.join("page.toml").exists(), "nothing refused is kept");

    // A value that looks like a flag stays a value.
    let choices = json!({ "flags": { "map": { "title": "--out=elsewhere", "heading": "-5" } } });
    let commands = page.post("api/choices", &choices).done()["commands"].clone();
    assert_eq!(
        commands["map"],
        "loosedepth map north-bench --visit 2025-04-14 --heading=-5 --title=--out=elsewhere"
    );
    let refusal = page.post("api/preview", &json!({ "choices": choices })).refusal();
    assert!(refusal.contains("heading"), "{refusal}");
}

#[test]
fn choices_of_a_strange_hand_do_no_harm() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    for text in [
        "[flags.map]\nout = \"/tmp/x\"\n",
        "visit = \"--out=/tmp\"\n",
        "elsewhere = 1\n",
        "[[[",
        &"#".repeat(1 << 17),
    ] {
        fs::write(folder.join("page.toml"), text).unwrap();
        let state = Page::open(&folder).state();
        assert_eq!(state["choices"]["flags"]["map"], json!({}), "{text:.20}");
        let problem = state["choices_problem"]["error"].as_str().unwrap();
        assert!(problem.starts_with("north-bench/page.toml: "), "{problem}");
        assert_eq!(state["ready"], true);
    }
}

#[test]
fn what_is_chosen_is_there_again_after_a_restart() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14", "2025-04-26"]);
    let choices = json!({
        "visit": "2025-04-14",
        "flags": { "map": { "classes": "4,8,12", "method": "kriging" }, "season": { "no-maps": "" } },
    });
    let first = Page::open(&folder);
    let answer = first.post("api/choices", &choices).done();
    assert_eq!(answer["unsaved"], Value::Null);
    assert_eq!(
        answer["commands"]["map"],
        "loosedepth map north-bench --visit 2025-04-14 --classes 4,8,12 --method kriging"
    );
    assert_eq!(answer["commands"]["season"], "loosedepth season north-bench --no-maps");
    assert_eq!(
        answer["commands"]["compare"],
        "loosedepth compare north-bench 2025-04-14 2025-04-26"
    );
    drop(first);
    let kept = fs::read(folder.join("page.toml")).unwrap();
    let again = Page::open(&folder);
    assert_eq!(again.state()["choices"], answer["choices"]);
    assert_eq!(again.state()["visits"][1]["day"], "2025-04-26");
    again.post("api/choices", &answer["choices"]).done();
    let other = Page::open(&folder);
    assert_eq!(other.state()["choices"], answer["choices"], "also in a second page");
    fs::remove_file(folder.join("page.toml")).unwrap();
    fs::create_dir(folder.join("page.toml")).unwrap();
    let answer = again.post("api/choices", &choices).done();
    assert!(answer["unsaved"]["error"].as_str().unwrap().contains("page.toml"), "{answer}");
    assert!(answer["commands"]["map"].is_string(), "the page goes on");
    assert!(!kept.is_empty());
}

#[test]
fn a_new_folder_becomes_a_field_as_files_are_dropped() {
    let at = tempfile::tempdir().unwrap();
    let folder = at.path().join("new field");
    let page = Page::open(&folder);
    let state = page.state();
    assert_eq!((&state["ready"], &state["needs"]), (&json!(false), &json!(["boundary", "visit"])));
    assert_eq!((&state["folder_name"], &state["problem"]), (&json!("new field"), &Value::Null));

    let refusal = page.drop_files("", &[("a.csv", b"lon,lat,reading\n-95.62,41.93,4\n")]).refusal();
    assert!(refusal.starts_with("a.csv: no column of a known name holds the depth"), "{refusal}");
    assert!(!folder.exists(), "what was refused leaves nothing");

    let visit = readings("2025-04-14");
    let dropped = [("../Outline.json", &outline()[..]), (".april.geojson", &visit[..])];
    let taken = page.drop_files("", &dropped).done()["taken"].clone();
    let told = |k: usize| (taken[k]["kind"].clone(), taken[k]["saved"].clone());
    assert_eq!(told(0), (json!("boundary"), json!("boundary.geojson")));
    assert_eq!(told(1), (json!("visit"), json!("visits/april.geojson")));
    assert_eq!(taken[1]["words"], "20 readings of 2025-04-14");
    assert_eq!(tree(&folder)["visits/april.geojson"], visit);
    let settings = "boundary = \"boundary.geojson\"\nvisits = \"visits\"\n";
    assert_eq!(fs::read_to_string(folder.join("loosedepth.toml")).unwrap(), settings);
    let state = page.state();
    assert_eq!((&state["ready"], &state["needs"]), (&json!(true), &json!([])));
    assert_eq!(state["choices"]["visit"], "2025-04-14");

    // Nothing is replaced unasked, and no two files hold one visit.
    let before = tree(&folder);
    let other = readings("2025-05-14");
    let reply = page.drop_files("", &[("april.geojson", &other[..])]);
    let exists = json!(["visits/april.geojson"]);
    assert_eq!((reply.status, reply.json()["exists"].clone()), (409, exists));
    assert_eq!(page.drop_files("?replace=true", &[("april.geojson", &other[..])]).status, 400);
    let refusal = page.drop_files("", &[("again.geojson", &visit[..])]).refusal();
    assert!(refusal.contains("both hold the visit of 2025-04-14"), "{refusal}");
    let both = [("may.geojson", &other[..]), ("broken.csv", &b"a\n1\n"[..])];
    assert!(page.drop_files("", &both).status == 422, "all or nothing");
    assert!(page.drop_files("?as=visit", &[("b.geojson", &outline()[..])]).status == 422);
    assert!(page.drop_files("", &[("..", &visit[..])]).status == 422, "no name is left");
    assert!(tree(&folder) == before);
    page.drop_files("", &[("april.geojson", &visit[..])]).done();
    page.drop_files("?replace=visits%2Fapril.geojson", &[("april.geojson", &other[..])]).done();
    assert_eq!(page.state()["visits"][0]["day"], "2025-05-14");
    assert_eq!(tree(&folder)["visits/april.geojson"], other);
}

#[test]
fn every_file_of_a_field_is_told_by_its_content() {
    let at = tempfile::tempdir().unwrap();
    let folder = at.path().join("field");
    let page = Page::open(&folder);
    let of = |name: &str| fs::read(demo(name)).unwrap();
    let files =
        ["boundary.geojson", "rates.toml", "strata.geojson", "trial.geojson", "weather.csv"];
    let sent: Vec<(String, Vec<u8>)> =
        files.iter().map(|name| (format!("x{name}"), of(name))).collect();
    let visit = of("visits/2025-04-14.geojson");
    let mut sent: Vec<(&str, &[u8])> =
        sent.iter().map(|(name, bytes)| (name.as_str(), &bytes[..])).collect();
    sent.push(("2025-04-14.geojson", &visit));
    let taken = page.drop_files("", &sent).done()["taken"].clone();
    let kinds: Vec<&str> =
        taken.as_array().unwrap().iter().map(|it| it["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["visit", "boundary", "rates", "strata", "trial", "weather"]);
    for name in files {
        assert!(fs::read(folder.join(name)).unwrap() == of(name), "{name}");
    }
    let settings = page.state()["settings"].clone();
    for name in ["boundary.geojson", "rates.toml", "strata.geojson", "weather.csv"] {
        assert_eq!(settings[name.split('.').next().unwrap()], name);
    }
    assert_eq!(page.state()["offered"]["trial"]["areas"], json!(["trial.geojson"]));
}

#[test]
fn columns_that_are_not_known_are_named_and_the_file_is_dropped_again() {
    let at = tempfile::tempdir().unwrap();
    let folder = at.path().join("field");
    let page = Page::open(&folder);
    let csv =
        b"Point,lon,lat,D200,date\nA,-95.62,41.93,4,2025-04-14\nB,-95.619,41.93,6,2025-04-14\n";
    let refusal = page.drop_files("", &[("a.csv", csv)]).refusal();
    assert!(refusal.contains("D200"), "{refusal}");
    let to = json!({ "name": "D200", "unit": "in" });
    let edit =
        json!({ "file": "loosedepth.toml", "set": [{ "at": ["columns", "depth"], "to": to }] });
    page.post("api/settings", &edit).done();
    let taken = page.drop_files("", &[("a.csv", csv)]).done();
    assert_eq!(taken["taken"][0]["words"], "2 readings of 2025-04-14");
}

#[test]
fn settings_are_edited_by_value_and_never_spoilt() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let page = Page::open(&folder);
    let file = folder.join("loosedepth.toml");
    let before = fs::read_to_string(&file).unwrap();
    let edit = |at: Value, to: Value| {
        let set = json!([{ "at": at, "to": to }]);
        page.post("api/settings", &json!({ "file": "loosedepth.toml", "set": set }))
    };
    let state = edit(json!(["classes"]), json!([4, 8.5, 12])).done();
    assert_eq!(state["settings"]["classes"], json!([4, 8.5, 12]));
    let after = before.replace("[3, 6, 9, 12, 15, 18]", "[4, 8.5, 12]");
    assert_eq!(fs::read_to_string(&file).unwrap(), after, "comments stay");
    for (at, to, words) in [
        (json!(["units"]), json!("metric"), "unknown variant `metric`"),
        (json!(["treshold"]), json!("200psi"), "unknown field `treshold`"),
        (json!(["threshold"]), json!("200"), "200"),
        (
            json!(["boundary"]),
            json!("../other.geojson"),
            "boundary is a file of the field's folder",
        ),
        (json!(["results"]), json!("/tmp"), "results is set by hand"),
        (json!(["visits"]), Value::Null, "visits is set by hand"),
    ] {
        let refusal = edit(at, to).refusal();
        assert!(refusal.contains(words), "{refusal}");
        assert_eq!(fs::read_to_string(&file).unwrap(), after);
    }
    // The reader's sentence, as the terminal would tell it of the file.
    let refusal = edit(json!(["units"]), json!("metric")).refusal();
    fs::write(&file, after.replace("\"us\"", "\"metric\"")).unwrap();
    let run = loosedepth(at.path(), &["season", "north-bench"]);
    assert_eq!(refusal, told(&run.stderr));
    assert_eq!(page.state()["problem"]["error"].as_str().unwrap(), told(&run.stderr));
}

#[test]
fn rates_are_begun_edited_and_never_spoilt() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let page = Page::open(&folder);
    let file = folder.join("rates.toml");
    let before = fs::read_to_string(&file).unwrap();
    assert_eq!(page.post("api/rates/new", &json!({})).status, 409);
    let set = json!([{ "at": ["action", 0, "margin"], "to": "0.5in" }]);
    page.post("api/settings", &json!({ "file": "rates.toml", "set": set })).done();
    let after = before.replace("margin = \"1in\"", "margin = \"0.5in\"");
    assert_eq!(fs::read_to_string(&file).unwrap(), after);
    let rates = page.get("api/rates").done();
    assert_eq!(rates["values"]["action"][0]["margin"], "0.5in");
    assert_eq!((&rates["text"], &rates["problem"]), (&json!(after), &Value::Null));
    for text in ["", "[[action]]\ndo = \"loosen\"\nclasses = [2]\nset_depth = \"9in\"\n", "[[["] {
        assert!(page.post("api/rates", &json!({ "text": text })).status == 422, "{text}");
    }
    assert_eq!(fs::read_to_string(&file).unwrap(), after);
    fs::remove_file(&file).unwrap();
    let rates = page.post("api/rates/new", &json!({})).done();
    assert_eq!(
        (&rates["problem"], &rates["values"]["action"][0]["do"]),
        (&Value::Null, &json!("leave"))
    );
}

/// The words of a shown command without the program's name; none of them here has blanks in it.
fn words(command: &Value) -> Vec<&str> {
    command.as_str().unwrap().split(' ').skip(1).collect()
}

#[test]
fn every_file_is_that_of_the_shown_command() {
    let (at, other) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let days = ["2025-04-14", "2025-08-24"];
    let (folder, twin) = (demo_field(at.path(), &days), demo_field(other.path(), &days));
    for folder in [&folder, &twin] {
        fs::copy(demo("trial.geojson"), folder.join("trial.geojson")).unwrap();
    }
    let page = Page::open(&folder);
    let choices = json!({
        "visit": "2025-04-14", "earlier": "2025-04-14", "later": "2025-08-24",
        "flags": {
            "map": { "classes": "3,6,9,12,15,17", "smallest-zone": "0.5ac" },
            "plan": { "check-strips": "2" },
            "trial": { "areas": "trial.geojson" },
            "spots": { "grid": "130ft" },
        },
    });
    let commands = page.post("api/choices", &choices).done()["commands"].clone();
    let all = [
        "map", "plan", "compare", "report", "season", "trial", "calendar", "spots", "clean",
        "raster",
    ];
    for command in all {
        // The season maps every visit, and a map is there already.
        let replace = command == "season";
        let job = page.run(command, &choices, replace).done();
        let shown = format!(
            "{}{}",
            commands[command].as_str().unwrap(),
            if replace { " --replace" } else { "" }
        );
        assert_eq!(job["command"], json!(shown));
        let job = page.ended(&job["id"]);
        let typed = loosedepth(other.path(), &words(&json!(shown)));
        let wanted = if typed.exit == 3 { "done_with_findings" } else { "done" };
        assert!([0, 3].contains(&typed.exit), "{command}: {}", typed.stderr);
        assert_eq!(job["state"], wanted, "{command}: {job}");
        assert_eq!(job["out"], typed.stdout, "{command}");
        assert_eq!(job["err"], typed.stderr, "{command}");
        assert!(job["files"].as_array().is_some_and(|files| !files.is_empty()), "{command}");
    }
    let (made, typed) = (tree(&folder.join("results")), tree(&twin.join("results")));
    assert_eq!(made.keys().collect::<Vec<_>>(), typed.keys().collect::<Vec<_>>());
    let state = page.state();
    let listed: Vec<&str> = state["results"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["path"].as_str().unwrap())
        .collect();
    assert_eq!(listed, made.keys().collect::<Vec<_>>());
    for (name, bytes) in &typed {
        let reply = page.get(&format!("api/results/{name}"));
        assert!(reply.status == 200 && reply.body == *bytes, "{name}");
    }
    assert_eq!(state["visits"][0]["mapped"], true);
}

#[test]
fn a_job_that_would_replace_results_says_so_and_does_it_when_asked() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let page = Page::open(&folder);
    let choices = json!({});
    let job = page.ended(&page.run("map", &choices, false).done()["id"]);
    assert_eq!((&job["state"], &job["exists"]), (&json!("done"), &json!(false)));
    let job = page.ended(&page.run("map", &choices, false).done()["id"]);
    assert_eq!((&job["state"], &job["exists"]), (&json!("failed"), &json!(true)));
    let typed = loosedepth(at.path(), &["map", "north-bench", "--visit", "2025-04-14"]);
    assert_eq!(job["err"], typed.stderr);
    let job = page.ended(&page.run("map", &choices, true).done()["id"]);
    assert_eq!((&job["state"], &job["step"], &job["of"]), (&json!("done"), &json!(2), &json!(2)));
    assert_eq!(page.get("api/jobs/99").status, 404);
}

#[test]
fn a_job_is_stopped_without_half_a_result_and_one_runs_at_a_time() {
    let at = tempfile::tempdir().unwrap();
    let days: Vec<String> = fs::read_dir(demo("visits"))
        .unwrap()
        .map(|entry| entry.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    let days: Vec<&str> = days.iter().map(String::as_str).collect();
    let folder = demo_field(at.path(), &days);
    let before = tree(&folder);
    let page = Page::open(&folder);
    let job = page.run("season", &json!({}), false).done();
    let second = page.run("map", &json!({}), false);
    assert_eq!(second.status, 409);
    assert_eq!(
        second.refusal(),
        "loosedepth season north-bench is still running; stop it, or wait for its end"
    );
    // Its progress is seen before it is stopped.
    let told = loop {
        let job = page.job(&job["id"]);
        assert_eq!(job["state"], "running", "{job}");
        if job["step"].as_u64().unwrap() >= 2 {
            break job;
        }
        std::thread::sleep(Duration::from_millis(20));
    };
    assert_eq!(told["of"], 25, "twelve maps, their files, and the season");
    assert!(told["doing"].as_str().unwrap().starts_with("map of 2025-"), "{told}");
    let path = format!("api/jobs/{}/stop", job["id"].as_str().unwrap());
    let stopped = page.post(&path, &json!({})).done();
    assert_eq!((&stopped["state"], &stopped["files"]), (&json!("stopped"), &json!([])));
    assert!(tree(&folder) == before, "nothing is left of it");
    // The next one runs.
    let job = page.ended(&page.run("map", &json!({}), false).done()["id"]);
    assert_eq!(job["state"], "done");
    assert_eq!(page.state()["jobs"].as_array().unwrap().len(), 2, "both windows see both");
}

#[test]
#[cfg(target_os = "linux")]
fn no_job_outlives_its_page() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14", "2025-04-26", "2025-05-09", "2025-05-20"]);
    for signal in ["-INT", "-KILL"] {
        let mut page = Page::open(&folder);
        let id = page.child.id();
        page.run("season", &json!({}), true).done();
        // proc(5): the fourth field of stat is the parent, after the name in brackets.
        let jobs = || -> Vec<String> {
            let stat = |entry: fs::DirEntry| {
                let text = fs::read_to_string(entry.path().join("stat")).ok()?;
                let rest = text.rsplit_once(") ")?.1;
                let parent: u32 = rest.split(' ').nth(1)?.parse().ok()?;
                (parent == id && !rest.starts_with('Z'))
                    .then(|| entry.file_name().into_string().unwrap())
            };
            fs::read_dir("/proc").unwrap().flatten().filter_map(stat).collect()
        };
        let running = jobs();
        assert_eq!(running.len(), 1, "{signal}");
        let kill = Command::new("kill").args([signal, &id.to_string()]).status().unwrap();
        assert!(kill.success());
        page.child.wait().unwrap();
        // Ended, or ending: a process that is gone has no folder there, a zombie no command line.
        let is_there = || {
            let line = fs::read(format!("/proc/{}/cmdline", running[0]));
            line.is_ok_and(|line| !line.is_empty())
        };
        while is_there() {
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

#[test]
fn a_class_limit_moves_zones_on_the_same_surface() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14", "2025-07-08"]);
    let page = Page::open(&folder);
    let preview = |choices: Value, have: Value| {
        page.post("api/preview", &json!({ "choices": choices, "have": have }))
    };
    let of = |flags: Value| json!({ "visit": "2025-04-14", "flags": { "map": flags } });
    let first = preview(of(json!({})), Value::Null).done();
    assert_eq!(first["view"]["visits"][0]["day"], "2025-04-14");
    let classes = |drawn: &Value| drawn["zones"]["classes"].as_array().unwrap().len();
    assert_eq!(classes(&first), 7);
    let flags = json!({ "classes": "5,10", "most-zones": "6" });
    let moved = preview(of(flags.clone()), first["surface"].clone()).done();
    assert_eq!((&moved["surface"], &moved["view"]), (&first["surface"], &Value::Null));
    assert_eq!(classes(&moved), 3);
    assert!(moved["zones"]["zones"].as_array().unwrap().len() <= 6);
    let other = json!({ "classes": "5,10", "method": "mean" });
    let other = preview(of(other), first["surface"].clone()).done();
    assert!(other["surface"] != first["surface"] && !other["view"].is_null());

    // What the page shows is what the command prints of the same choices, zone by zone.
    let command = page.post("api/choices", &of(flags)).done()["commands"]["map"].clone();
    let run = loosedepth(at.path(), &words(&command));
    assert_eq!(run.exit, 0);
    let (table, _) = run.stdout.split_once("\nwrote ").unwrap();
    assert_eq!(moved["table"].as_str().unwrap().trim_end(), table.trim_end());
    let zones = fs::read(folder.join("results/2025-04-14/zones.geojson")).unwrap();
    let zones: Value = serde_json::from_slice(&zones).unwrap();
    let of_file: Vec<&Value> = zones["features"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| &it["properties"]["zone_id"])
        .collect();
    let drawn: Vec<&Value> =
        moved["zones"]["zones"].as_array().unwrap().iter().map(|it| &it["id"]).collect();
    assert_eq!(drawn, of_file);

    // A changed file is another surface.
    let file = folder.join("visits/2025-04-14.geojson");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replacen("\"depth_in\":9", "\"depth_in\":12", 1)).unwrap();
    let again = preview(of(json!({})), other["surface"].clone()).done();
    assert!(!again["view"].is_null());
}

#[test]
fn a_preview_fails_with_the_sentence_of_the_command() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let page = Page::open(&folder);
    for (flag, value) in [
        ("classes", "9,3"),
        ("method", "splines"),
        ("power", "99"),
        ("reach", "-1"),
        ("rod", "long"),
        ("probability", "normal"),
        ("zone-cells", "swath"),
        ("seed", "7"),
        ("threshold", "300psi"),
    ] {
        let choices = json!({ "flags": { "map": { flag: value } } });
        let refusal = page.post("api/preview", &json!({ "choices": choices })).refusal();
        let command = page.post("api/choices", &choices).done()["commands"]["map"].clone();
        let run = loosedepth(at.path(), &words(&command));
        assert!(run.exit == 1 || run.exit == 2, "{flag} {value}");
        let typed = told(&run.stderr);
        // Of clap's text the page leaves out how the command is used.
        let (typed, _) = typed.split_once("\n\nUsage:").unwrap_or((&typed, ""));
        let (typed, _) = typed.split_once("\n\nFor more").unwrap_or((typed, ""));
        let typed: Vec<&str> =
            typed.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
        assert_eq!(refusal, typed.join("\n"), "{flag} {value}");
    }
    fs::write(folder.join("boundary.geojson"), "{\"type\": \"Polygon\"").unwrap();
    let refusal = page.post("api/preview", &json!({ "choices": {} })).refusal();
    let run = loosedepth(at.path(), &["map", "north-bench", "--visit", "2025-04-14"]);
    assert_eq!(refusal, told(&run.stderr));
    assert_eq!(page.state()["problem"]["error"].as_str().unwrap(), refusal);
    assert_eq!(page.state()["ready"], false);
}

#[test]
fn two_visits_are_compared_and_strips_drawn_without_writing() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14", "2025-08-24"]);
    let page = Page::open(&folder);
    let before = tree(&folder);
    let choices = json!({ "choices": { "flags": { "plan": { "check-strips": "2" } } } });
    let compared = page.post("api/compare", &choices).done();
    assert_eq!(compared["view"]["visits"].as_array().unwrap().len(), 2);
    assert!(!compared["view"]["change"].is_null());
    let words = compared["words"][0].as_str().unwrap().to_lowercase();
    assert!(words.contains("moisture"), "first of all: {words}");
    assert!(tree(&folder) == before, "nothing is written");
    let refusal = page.post("api/strips", &choices).refusal();
    assert!(refusal.contains("this visit is not mapped yet"), "{refusal}");

    let visit = json!({ "visit": "2025-04-14", "flags": { "plan": { "check-strips": "2" } } });
    page.ended(&page.run("map", &visit, false).done()["id"]);
    let before = tree(&folder);
    let strips = page.post("api/strips", &json!({ "choices": visit })).done();
    let kinds: Vec<&Value> =
        strips["parts"].as_array().unwrap().iter().map(|part| &part["kind"]).collect();
    for kind in ["treated", "check", "left"] {
        assert!(kinds.contains(&&json!(kind)), "{kind}");
    }
    assert!(strips["parts"][0]["d"].as_str().unwrap().starts_with('M'));
    assert!(tree(&folder) == before, "nothing is written");
    let typed = ["plan", "north-bench", "--visit", "2025-04-14", "--check-strips", "2"];
    let run = loosedepth(at.path(), &typed);
    let table = strips["table"].as_str().unwrap();
    assert!(run.stdout.starts_with(table), "{table}\n{}", run.stdout);
}

#[test]
fn of_requests_that_wait_the_latest_is_answered() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let page = Page::open(&folder);
    let ask = |limit: usize| {
        let choices = json!({ "flags": { "map": { "classes": format!("{limit},20") } } });
        page.post("api/preview", &json!({ "choices": choices }))
    };
    std::thread::scope(|scope| {
        let asked: Vec<_> = (1..=8).map(|limit| scope.spawn(move || ask(limit))).collect();
        let mut drawn = 0;
        for (limit, asked) in (1..=8).zip(asked) {
            let reply = asked.join().unwrap();
            match reply.status {
                200 => {
                    let name = reply.json()["zones"]["classes"][0]["name"].clone();
                    assert_eq!(name, json!(format!("0–{limit} in")), "each its own answer");
                    drawn += 1;
                }
                status => assert_eq!((status, &reply.json()["superseded"]), (409, &json!(true))),
            }
        }
        assert!(drawn >= 1);
    });
}

#[test]
fn a_folder_that_is_none_is_refused() {
    let at = tempfile::tempdir().unwrap();
    fs::write(at.path().join("file"), "x").unwrap();
    for (folder, words) in [
        ("file", "file is a file; give the folder of a field"),
        ("missing/field", "missing/field: the folder missing cannot be entered"),
        ("/", "/ cannot be the folder of a field"),
    ] {
        let run = loosedepth(at.path(), &["open", folder, "--no-browser"]);
        assert!(run.exit == 1 && run.stderr.contains(words), "{folder}: {}", run.stderr);
    }
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let run = loosedepth(at.path(), &["open", ".", "--no-browser", "--port", &port]);
    assert!(run.exit == 1 && run.stderr.contains("give another with --port N"), "{}", run.stderr);
    // A folder of other things is none yet, and stays as it is.
    let page = Page::open_in(at.path(), ".");
    assert_eq!(page.state()["needs"], json!(["boundary", "visit"]));
    drop(page);
    assert_eq!(fs::read_dir(at.path()).unwrap().count(), 1);
}

#[test]
fn a_season_in_one_file_becomes_a_folder_again() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14", "2025-04-26"]);
    let run = loosedepth(at.path(), &["season", "north-bench", "--no-maps"]);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    let archive = fs::read(folder.join("results/season.gpkg")).unwrap();
    let page = Page::open(&at.path().join("again"));
    let taken = page.drop_files("", &[("season.gpkg", &archive)]).done();
    assert_eq!(taken["taken"][0]["kind"], "archive");
    let mut wanted = tree(&folder);
    wanted.retain(|name, _| !name.starts_with("results/"));
    assert!(tree(&at.path().join("again")) == wanted);
    assert_eq!(page.state()["ready"], true);
    let refusal = page.drop_files("", &[("season.gpkg", &archive)]).refusal();
    assert!(refusal.contains("an archive needs a folder of its own"), "{refusal}");
}

/// Settings of a stranger that lead out of the field's folder, each beside what they would reach.
#[test]
fn settings_of_a_stranger_reach_nothing_outside_of_the_folder() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let file = folder.join("loosedepth.toml");
    let plain = fs::read_to_string(&file).unwrap();
    let outside = at.path().join("outside");
    fs::create_dir(&outside).unwrap();
    fs::write(outside.join("rates.toml"), "secret = 1\n").unwrap();
    let page = Page::open(&folder);
    let with = |key: &str, path: &str| {
        let mut lines: Vec<String> = plain
            .lines()
            .filter(|line| !line.starts_with(&format!("{key} =")))
            .map(String::from)
            .collect();
        lines.insert(0, format!("{key} = {}", json!(path)));
        fs::write(&file, lines.join("\n") + "\n").unwrap();
    };
    let before = tree(at.path());
    let is_untouched = |what: &str| {
        let mut now = tree(at.path());
        now.insert("north-bench/loosedepth.toml".into(), plain.clone().into_bytes());
        assert!(now == before, "{what}: {:?}", now.keys());
        assert!(!at.path().join("victim").exists(), "{what}");
    };
    let visit = readings("2025-05-14");
    for path in ["new/../../victim/autostart", "../victim", "../outside", "new/../visits"] {
        with("visits", path);
        let refusal = page.drop_files("", &[("may.geojson", &visit[..])]).refusal();
        assert!(refusal.contains("lies outside of the field's folder"), "{path}: {refusal}");
        is_untouched(path);
    }
    for path in ["../victim/rates.toml", "new/../../victim/rates.toml", "../outside/rates.toml"] {
        with("rates", path);
        let text = json!({ "text": fs::read_to_string(demo("rates.toml")).unwrap() });
        for reply in [
            page.get("api/rates"),
            page.post("api/rates", &text),
            page.post("api/rates/new", &json!({})),
        ] {
            let refusal = reply.refusal();
            assert!(refusal.contains("lies outside of the field's folder"), "{path}: {refusal}");
        }
        is_untouched(path);
    }
    for path in ["../victim", "new/../../victim", ".."] {
        with("results", path);
        let reply = page.run("map", &json!({}), true);
        assert!(reply.status >= 400, "{path} is not written: {}", reply.text());
        assert!(reply.refusal().contains("lies outside of the field's folder"), "{path}");
        is_untouched(path);
    }
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(&outside, folder.join("link")).unwrap();
        with("rates", "link/rates.toml");
        assert_eq!(page.get("api/rates").status, 422);
        with("visits", "link");
        assert_eq!(page.drop_files("", &[("may.geojson", &visit[..])]).status, 422);
    }
}

#[test]
fn every_file_that_is_there_is_named_and_only_the_named_are_replaced() {
    let at = tempfile::tempdir().unwrap();
    let folder = at.path().join("field");
    let page = Page::open(&folder);
    let visit = readings("2025-04-14");
    page.drop_files("", &[("outline.json", &outline()[..]), ("a.geojson", &visit[..])]).done();
    let before = tree(&folder);
    let other = readings("2025-05-14");
    let mut wider = ring();
    wider[1][0] = json!(-95.617);
    wider[2][0] = json!(-95.617);
    let wider = json!({ "type": "Polygon", "coordinates": [wider] }).to_string().into_bytes();
    let both = [("outline.json", &wider[..]), ("a.geojson", &other[..])];
    let reply = page.drop_files("", &both);
    let told = reply.json();
    assert_eq!(told["exists"], json!(["visits/a.geojson", "boundary.geojson"]));
    assert!(told["error"].as_str().unwrap().contains("boundary.geojson"), "{told}");
    let reply = page.drop_files("?replace=boundary.geojson", &both);
    assert_eq!(reply.json()["exists"], json!(["visits/a.geojson"]), "the visit was not named");
    assert!(tree(&folder) == before, "all or nothing");
    page.drop_files("?replace=boundary.geojson&replace=visits/a.geojson", &both).done();
    assert_eq!(tree(&folder)["boundary.geojson"], wider);
    assert_eq!(tree(&folder)["visits/a.geojson"], other);
}

/// The main file and the table of a shapefile of points (ESRI Shapefile Technical Description, 1998; the table as
/// in dBASE III).
fn shapefile(day: &str) -> [Vec<u8>; 2] {
    let all = features();
    let place = |feature: &Value, k: usize| feature["geometry"]["coordinates"][k].as_f64().unwrap();
    let mut shp = Vec::new();
    shp.extend(9994_i32.to_be_bytes());
    shp.extend([0; 20]);
    shp.extend((50 + 14 * all.len() as i32).to_be_bytes());
    shp.extend(1000_i32.to_le_bytes());
    shp.extend(1_i32.to_le_bytes());
    for bound in [-95.62, 41.93, -95.61, 41.94, 0.0, 0.0, 0.0, 0.0_f64] {
        shp.extend(bound.to_le_bytes());
    }
    for (k, feature) in all.iter().enumerate() {
        shp.extend((k as i32 + 1).to_be_bytes());
        shp.extend(10_i32.to_be_bytes());
        shp.extend(1_i32.to_le_bytes());
        shp.extend(place(feature, 0).to_le_bytes());
        shp.extend(place(feature, 1).to_le_bytes());
    }
    let mut dbf = vec![3, 125, 1, 1];
    dbf.extend((all.len() as u32).to_le_bytes());
    dbf.extend((32 + 2 * 32 + 1_u16).to_le_bytes());
    dbf.extend((1 + 5 + 10_u16).to_le_bytes());
    dbf.extend([0; 20]);
    for (name, kind, length) in [("depth_in", b'N', 5), ("date", b'C', 10)] {
        let mut field = [0_u8; 32];
        field[..name.len()].copy_from_slice(name.as_bytes());
        (field[11], field[16]) = (kind, length);
        dbf.extend(field);
    }
    dbf.push(13);
    for feature in &all {
        dbf.extend(
            format!(" {:>5}{day}", feature["properties"]["depth_in"].as_i64().unwrap())
                .into_bytes(),
        );
    }
    dbf.push(26);
    [shp, dbf]
}

#[test]
fn a_replaced_shapefile_keeps_nothing_of_the_old_one() {
    let at = tempfile::tempdir().unwrap();
    let folder = at.path().join("field");
    let page = Page::open(&folder);
    page.drop_files("", &[("outline.json", &outline()[..])]).done();
    // WKT 1 of EPSG:4326 (OGC 01-009).
    let degrees =
        b"GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563]],\
                    PRIMEM[\"Greenwich\",0],UNIT[\"degree\",0.0174532925199433]]";
    let [shp, dbf] = shapefile("2025-04-14");
    page.drop_files("", &[("a.shp", &shp), ("a.dbf", &dbf), ("a.prj", degrees)]).done();
    assert_eq!(tree(&folder)["visits/a.prj"], degrees);
    let [shp, dbf] = shapefile("2025-05-14");
    let new = [("a.shp", &shp[..]), ("a.dbf", &dbf[..])];
    let reply = page.drop_files("", &new);
    assert_eq!(reply.status, 409, "{}", reply.text());
    let exists = reply.json()["exists"].clone();
    assert_eq!(exists, json!(["visits/a.dbf", "visits/a.prj"]), "the points are the same");
    page.drop_files("?replace=visits/a.dbf&replace=visits/a.prj", &new).done();
    let names: Vec<String> = tree(&folder).into_keys().collect();
    let wanted = ["boundary.geojson", "loosedepth.toml", "visits/a.dbf", "visits/a.shp"];
    assert_eq!(names, wanted);
}

#[test]
fn a_file_of_the_same_size_and_time_is_another_surface() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let page = Page::open(&folder);
    let rewrite = |path: &Path, from: &str, to: &str| {
        let time = fs::metadata(path).unwrap().modified().unwrap();
        let text = fs::read_to_string(path).unwrap();
        assert!(from.len() == to.len() && text.contains(from), "{from}");
        fs::write(path, text.replacen(from, to, 1)).unwrap();
        fs::File::options().write(true).open(path).unwrap().set_modified(time).unwrap();
    };
    let ask = |choices: &Value, have: &Value| {
        page.post("api/preview", &json!({ "choices": choices, "have": have })).done()
    };
    let first = ask(&json!({}), &Value::Null);
    assert_eq!(ask(&json!({}), &first["surface"])["surface"], first["surface"]);
    rewrite(&folder.join("visits/2025-04-14.geojson"), "\"depth_in\":9", "\"depth_in\":8");
    let second = ask(&json!({}), &first["surface"]);
    assert!(second["surface"] != first["surface"], "the readings are others");
    rewrite(
        &folder.join("visits/2025-04-14.geojson"),
        r#""date":"2025-04-14""#,
        r#""date":"2025-04-15""#,
    );
    assert_eq!(page.state()["visits"][0]["last_day"], "2025-04-15");
}

#[test]
fn earlier_zones_that_change_are_read_again() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let page = Page::open(&folder);
    page.ended(&page.run("map", &json!({}), false).done()["id"]);
    let file = folder.join("results/2025-04-14/zones.geojson");
    let name = "results/2025-04-14/zones.geojson";
    let choices = json!({ "flags": { "map": { "earlier-zones": name } } });
    let first = page.post("api/preview", &json!({ "choices": choices })).done();
    let id = first["zones"]["zones"][0]["id"].as_str().unwrap().to_owned();
    let text = fs::read_to_string(&file).unwrap();
    let (from, to) = (format!("\"{id}\""), "\"Z900\"".to_owned());
    assert!(text.contains(&from), "{id}");
    fs::write(&file, text.replace(&from, &to)).unwrap();
    let second = page.post("api/preview", &json!({ "choices": choices })).done();
    assert!(second["surface"] != first["surface"], "the zones it follows are others");
}

#[test]
fn two_pages_change_choices_without_undoing_each_other() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14", "2025-04-26"]);
    let (one, two) = (Page::open(&folder), Page::open(&folder));
    let set = |page: &Page, set: Value| page.post("api/choices", &json!({ "set": set })).done();
    set(&one, json!({ "visit": "2025-04-14", "flags": { "map": { "classes": "4,8" } } }));
    let answer = set(&two, json!({ "flags": { "map": { "method": "kriging" } } }));
    let both = json!({ "classes": "4,8", "method": "kriging" });
    assert_eq!(answer["choices"]["flags"]["map"], both);
    assert_eq!(answer["choices"]["visit"], "2025-04-14");
    let answer = set(&one, json!({ "visit": null, "flags": { "map": { "classes": null } } }));
    assert_eq!(answer["choices"]["flags"]["map"], json!({ "method": "kriging" }));
    assert_eq!(answer["choices"]["visit"], "2025-04-26");
    for odd in [json!({ "field": "x" }), json!({ "flags": { "map": { "out": "/tmp/x" } } })] {
        assert_eq!(one.post("api/choices", &json!({ "set": odd })).status, 422, "{odd}");
    }
    // What the disk does not take is not forgotten by the next change.
    fs::remove_file(folder.join("page.toml")).unwrap();
    fs::create_dir(folder.join("page.toml")).unwrap();
    set(&one, json!({ "flags": { "map": { "classes": "5,10" } } }));
    let answer = set(&one, json!({ "flags": { "map": { "power": "3" } } }));
    assert_eq!(answer["choices"]["flags"]["map"]["classes"], "5,10");
    assert!(answer["unsaved"]["error"].as_str().unwrap().contains("page.toml"), "{answer}");
}

#[test]
fn choices_that_are_not_understood_are_replaced_only_when_asked() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let file = folder.join("page.toml");
    fs::write(&file, "visit = 3 # mine\n").unwrap();
    let page = Page::open(&folder);
    let set = json!({ "flags": { "map": { "classes": "4,8" } } });
    for body in [json!({ "set": set }), set.clone()] {
        let answer = page.post("api/choices", &body).done();
        assert!(answer["unsaved"]["error"].as_str().unwrap().contains("page.toml"), "{answer}");
        assert_eq!(answer["choices"]["flags"]["map"]["classes"], "4,8");
        assert_eq!(fs::read_to_string(&file).unwrap(), "visit = 3 # mine\n");
    }
    let answer = page.post("api/choices", &json!({ "set": {}, "replace": true })).done();
    assert_eq!(answer["unsaved"], Value::Null);
    assert!(fs::read_to_string(&file).unwrap().contains("classes = \"4,8\""));
    assert_eq!(page.state()["choices_problem"], Value::Null);
}

#[test]
fn limits_of_other_units_are_set_aside() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let page = Page::open(&folder);
    let choices = json!({ "flags": { "map": { "classes": "4,6,9", "method": "kriging" } } });
    page.post("api/choices", &choices).done();
    assert_eq!(page.state()["notes"], json!([]));
    let file = folder.join("loosedepth.toml");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replace("units = \"us\"", "units = \"si\"")).unwrap();
    let state = page.state();
    assert_eq!(state["units"], "si");
    assert_eq!(state["choices"]["flags"]["map"], json!({ "method": "kriging" }));
    let note = state["notes"][0].as_str().unwrap();
    assert!(note.starts_with("--classes 4,6,9 of map was chosen in inches"), "{note}");
    let answer = page.post("api/choices", &json!({ "set": {} })).done();
    assert_eq!(answer["notes"], state["notes"]);
    assert_eq!(page.state()["notes"], json!([]), "told, and gone");
}

#[test]
fn rates_that_changed_since_are_not_overwritten() {
    let at = tempfile::tempdir().unwrap();
    let folder = demo_field(at.path(), &["2025-04-14"]);
    let page = Page::open(&folder);
    let begun = page.get("api/rates").done();
    let set = json!([{ "at": ["action", 0, "margin"], "to": "0.5in" }]);
    page.post("api/settings", &json!({ "file": "rates.toml", "set": set })).done();
    let now = tree(&folder);
    let text = format!("# mine\n{}", begun["text"].as_str().unwrap());
    let reply = page.post("api/rates", &json!({ "text": text, "base": begun["base"] }));
    assert_eq!((reply.status, &reply.json()["changed"]), (409, &json!(true)));
    assert!(reply.refusal().contains("north-bench/rates.toml: changed since"));
    assert!(tree(&folder) == now);
    let base = page.get("api/rates").done()["base"].clone();
    let saved = page.post("api/rates", &json!({ "text": text, "base": base })).done();
    assert_eq!(saved["text"], json!(text));
    assert!(saved["base"] != base);
}
