//! What the desk refuses, and that it goes on; that it gives what the command line gives.

use std::fs;
use std::io::Write;
use std::process::Command;

use serde_json::{Value, json};
use tempfile::TempDir;

use super::http::{answer, connect, request};
use super::server::{Desk, PLAN, SCAN};

#[test]
fn without_the_token_or_under_another_name_nothing_is_told() {
    let desk = Desk::open();
    let (host, cookie) = (desk.host(), desk.cookie());
    let own = ("Host", host.as_str());
    let with = ("Cookie", cookie.as_str());
    let wrong = cookie.replace('=', "=0");
    for headers in [
        &[own][..],
        &[own, ("Cookie", wrong.as_str())],
        &[with],
        &[("Host", "quay.example"), with],
        &[("Host", "127.0.0.1:1"), with],
        &[own, with, ("Host", "quay.example")],
    ] {
        for path in ["/", "/page/main.js", "/api/photos", "/api/sheet.pdf"] {
            let answer = request(desk.port, "GET", path, headers, b"");
            assert!(
                matches!(answer.status, 400 | 403),
                "{path} {headers:?}: {answer:?}"
            );
            assert!(!answer.text().contains("<html"), "{path} {headers:?}");
        }
    }
    let from = |origin: &str| {
        let headers = [own, with, ("Origin", origin)];
        request(desk.port, "POST", "/api/sample", &headers, b"").status
    };
    assert_eq!(from("http://quay.example"), 403);
    assert_eq!(from("null"), 403);
    assert_eq!(from(&format!("http://{host}")), 200);
    desk.assert_goes_on();
}

#[test]
fn the_printed_address_lets_in_once_and_every_answer_forbids_what_isnt_needed() {
    let desk = Desk::open();
    let host = desk.host();
    let first = format!("/?token={}", desk.token);
    let welcome = request(desk.port, "GET", &first, &[("Host", &host)], b"");
    assert_eq!(welcome.status, 303);
    assert_eq!(welcome.header("location"), Some("/"));
    let cookie = welcome.header("set-cookie").unwrap();
    assert!(
        cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"),
        "{cookie}"
    );
    let page = desk.ask("GET", "/", b"");
    assert_eq!(page.status, 200);
    let policy = page.header("content-security-policy").unwrap();
    assert!(policy.contains("default-src 'self'"), "{policy}");
    assert!(policy.contains("frame-ancestors 'none'"), "{policy}");
    for (name, value) in [
        ("cache-control", "no-store"),
        ("x-content-type-options", "nosniff"),
    ] {
        assert_eq!(page.header(name), Some(value));
    }
    // The page names nothing that lies elsewhere.
    for file in [
        "desk.css",
        "main.js",
        "server.js",
        "stage.js",
        "bands.js",
        "plan.js",
        "class.js",
    ] {
        let text = desk.ask("GET", &format!("/page/{file}"), b"").text();
        let elsewhere = text.replace("http://www.w3.org/2000/svg", "");
        assert!(
            !elsewhere.contains("http://") && !elsewhere.contains("https://"),
            "{file}"
        );
    }
}

#[test]
fn what_is_too_large_cut_off_or_garbage_is_refused_and_the_desk_goes_on() {
    let desk = Desk::open();
    let head = |length: usize| {
        format!(
            "POST /api/photos?name=a.jpg HTTP/1.1\r\nHost: {}\r\nCookie: {}\r\nConnection: close\r\n\
             Content-Length: {length}\r\n\r\n",
            desk.host(),
            desk.cookie()
        )
    };
    // Too large by its own word.
    let mut stream = connect(desk.port);
    stream.write_all(head(3 << 30).as_bytes()).unwrap();
    let refused = answer(&mut stream);
    assert_eq!(refused.status, 413, "{refused:?}");
    assert!(refused.text().contains("128 MiB"), "{}", refused.text());
    // Words longer than any plan.
    let long = vec![b' '; 3 << 20];
    assert_eq!(desk.ask("POST", "/api/plan", &long).status, 413);
    // Half a head, half a body; both are left hanging while others are served.
    let mut half_head = connect(desk.port);
    half_head
        .write_all(b"GET /api/photos HTTP/1.1\r\nHo")
        .unwrap();
    let mut half_body = connect(desk.port);
    half_body.write_all(head(1000).as_bytes()).unwrap();
    half_body.write_all(&SCAN[..400]).unwrap();
    desk.assert_goes_on();
    drop((half_head, half_body));
    // No HTTP at all.
    let mut noise = connect(desk.port);
    let bytes: Vec<u8> = (0..5000_u32).map(|k| (k * 7919 % 251) as u8).collect();
    noise.write_all(&bytes).unwrap();
    assert!(matches!(answer(&mut noise).status, 0 | 400));
    desk.assert_goes_on();
    // Photos that are none, or end too early.
    for (bytes, says) in [
        (&b"%PDF-1.7"[..], "PDF"),
        (&SCAN[..SCAN.len() / 2], "cut off"),
        (&bytes[..], "picture"),
        (&[], ""),
    ] {
        let refused = desk.ask("POST", "/api/photos?name=..%2F..%2Fa.jpg", bytes);
        assert_eq!(refused.status, 400, "{refused:?}");
        assert!(
            refused.json()["error"].as_str().unwrap().contains(says),
            "{}",
            refused.text()
        );
    }
    assert_eq!(desk.ask("GET", "/api/photos", b"").json(), json!([]));
}

#[test]
fn what_cant_be_asked_is_refused_with_words() {
    let desk = Desk::open();
    let id = desk.put_sample();
    let path = format!("/api/photos/{id}/measure");
    for (body, status, says) in [
        ("{", 400, "JSON"),
        ("{\"scale\":\"dpi\",\"sclae\":1}", 400, "unknown field"),
        ("{\"scale\":\"300\"}", 422, "300dpi"),
        ("{\"scale\":\"dpi\",\"plan\":\"{}\"}", 400, "ends"),
        (
            "{\"scale\":\"dpi\",\"corrections\":{\"schema\":\"evenfell/corrections/1\",\"deleted_picks\":[999]}}",
            400,
            "no pick 999",
        ),
        ("{\"scale\":\"sheet\"}", 422, "sheet"),
    ] {
        let refused = desk.ask("POST", &path, body.as_bytes());
        let words = refused.text();
        assert!(
            refused.status == status || refused.status == 400,
            "{body}: {refused:?}"
        );
        assert!(words.contains(says), "{body}: {words}");
    }
    for path in [
        "/api/photos/99/picture.jpg",
        "/api/photos/1/..%2f..%2fCargo.toml",
        "/api/photos/1/report.html",
        "/page/..%2fmod.rs",
        "/nowhere",
    ] {
        assert_eq!(desk.ask("GET", path, b"").status, 404, "{path}");
    }
    assert_eq!(
        desk.ask("POST", "/api/compare", b"{\"bands\":[]}").status,
        400
    );
    desk.assert_goes_on();
}

/// What `measure --out` writes for the sample with these words more.
fn by_command_line(words: &[&str]) -> TempDir {
    let dir = TempDir::new().unwrap();
    fs::write(dir.path().join("lamp_pull.jpg"), SCAN).unwrap();
    fs::write(dir.path().join("plan.json"), PLAN).unwrap();
    let output = Command::new(assert_cmd::cargo::cargo_bin!("evenfell"))
        .current_dir(&dir)
        .args(["measure", "lamp_pull.jpg", "--plan", "plan.json"])
        .args(["--scale", "dpi", "--out", "out"])
        .args(words)
        .output()
        .unwrap();
    assert!(output.status.success(), "{output:?}");
    dir
}

#[test]
fn desk_and_command_line_give_the_same_bytes() {
    let desk = Desk::open();
    let id = desk.put_sample();
    let reply = desk.measure(id, &Value::Null);
    assert_eq!(reply.status, 200, "{}", reply.text());
    let dir = by_command_line(&[]);
    for file in [
        "measurement.json",
        "picks.csv",
        "report.html",
        "marked.png",
        "band.png",
    ] {
        let kept = fs::read(dir.path().join("out").join(file)).unwrap();
        let given = desk.ask("GET", &format!("/api/photos/{id}/{file}"), b"");
        assert_eq!(given.status, 200);
        assert!(given.body == kept, "{file} differs");
    }
}

#[test]
fn a_stretch_a_close_up_and_a_hand_count_are_measured_as_on_the_command_line() {
    let desk = Desk::open();
    let id = desk.put_sample();
    let asked = [
        (vec!["--part"], json!({ "part": true })),
        (
            vec!["--swatch=520,260,500,200"],
            json!({ "swatch": "520,260,500,200" }),
        ),
        (
            vec!["--hand-count", "11 in 1 in at 2 in"],
            json!({ "hand_count": "11 in 1 in at 2 in" }),
        ),
    ];
    for (words, fields) in asked {
        let reply = desk.measure_with(id, &fields);
        assert_eq!(reply.status, 200, "{}", reply.text());
        let dir = by_command_line(&words);
        let kept = fs::read_to_string(dir.path().join("out/measurement.json")).unwrap();
        let given = desk.ask("GET", &format!("/api/photos/{id}/measurement.json"), b"");
        assert_eq!(given.text(), kept, "{words:?}");
    }
    let both = desk.measure_with(id, &json!({ "part": true, "swatch": "" }));
    assert_eq!(both.status, 400, "{}", both.text());
    let garbage = desk.measure_with(id, &json!({ "hand_count": "eleven or so" }));
    assert_eq!(garbage.status, 400, "{}", garbage.text());
    assert!(
        garbage.text().contains("11 in 1 in at 2 in"),
        "{}",
        garbage.text()
    );
    desk.assert_goes_on();
}

#[test]
fn what_the_desk_puts_right_and_saves_gives_the_same_on_the_command_line() {
    let desk = Desk::open();
    let id = desk.put_sample();
    let made = json!({
        "schema": "evenfell/corrections/1",
        "body": { "from_mm": 12.5 },
        "deleted_picks": [41],
        "inserted_picks_mm": [104.3],
    });
    let reply = desk.measure(id, &made);
    assert_eq!(reply.status, 200, "{}", reply.text());
    let saved = desk.ask("GET", &format!("/api/photos/{id}/corrections.json"), b"");
    let file = TempDir::new().unwrap();
    let path = file.path().join("saved.json");
    fs::write(&path, &saved.body).unwrap();
    let dir = by_command_line(&["--corrections", path.to_str().unwrap()]);
    let kept = fs::read_to_string(dir.path().join("out/measurement.json")).unwrap();
    let given = desk.ask("GET", &format!("/api/photos/{id}/measurement.json"), b"");
    assert_eq!(given.text(), kept);
    assert!(kept.contains("put right by hand"));
}

#[test]
fn a_class_is_compared_zipped_and_given_its_yarn() {
    let desk = Desk::open();
    let bands = [desk.put_sample(), desk.put_sample()];
    for (id, deleted) in [(bands[0], json!([])), (bands[1], json!([41]))] {
        let made = json!({ "schema": "evenfell/corrections/1", "deleted_picks": deleted });
        assert_eq!(desk.measure(id, &made).status, 200);
    }
    let class = json!({ "bands": bands, "names": { bands[1].to_string(): "Third oar" } });
    let compared = desk.ask("POST", "/api/compare", class.to_string().as_bytes());
    assert_eq!(compared.status, 200, "{}", compared.text());
    let names: Vec<String> = compared.json()["comparison"]["samples"]
        .as_array()
        .unwrap()
        .iter()
        .map(|sample| sample["name"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(names, ["lamp_pull", "Third oar"]);
    let kits = json!({ "plan": PLAN, "kits": 12, "bands": bands });
    let yarn = desk.ask("POST", "/api/yardage", kits.to_string().as_bytes());
    assert_eq!(
        yarn.json()["yardage"]["measured_bands"],
        2,
        "{}",
        yarn.text()
    );
    let zip = desk.ask("POST", "/api/everything.zip", class.to_string().as_bytes());
    assert_eq!(zip.status, 200);
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(zip.body)).unwrap();
    for name in [
        "lamp_pull/measurement.json",
        "lamp_pull/report.html",
        "lamp_pull, 2/corrections.json",
        "lamp_pull/plan.json",
        "comparison.json",
        "report.html",
    ] {
        assert!(zip.by_name(name).is_ok(), "{name} is missing");
    }
    assert!(zip.by_name("lamp_pull/corrections.json").is_err());
    let sheet = desk.ask("GET", "/api/sheet.pdf?paper=a4&ground=grey", b"");
    assert!(sheet.body.starts_with(b"%PDF"));
}
