//! A headless Chromium, driven through its own driver by the protocol that W3C wrote for it, over the
//! same plain HTTP as the other requests.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tempfile::TempDir;

use super::http::request;

/// How long the page may take for anything.
const PATIENCE: Duration = Duration::from_secs(90);

/// The key under which the protocol names an element.
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";

/// Keys as the protocol writes them.
pub(super) mod key {
    pub(crate) const TAB: &str = "\u{e004}";
    pub(crate) const ENTER: &str = "\u{e007}";
    pub(crate) const SPACE: &str = " ";
    pub(crate) const LEFT: &str = "\u{e012}";
    pub(crate) const RIGHT: &str = "\u{e014}";
    pub(crate) const DOWN: &str = "\u{e015}";
    pub(crate) const SHIFT: &str = "\u{e008}";
}

/// An open browser.
pub(super) struct Browser {
    driver: Child,
    port: u16,
    session: String,
    _profile: TempDir,
}

/// A program of one of these names on the path.
fn program(names: &[&str]) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let places: Vec<PathBuf> = std::env::split_paths(&path).collect();
    names
        .iter()
        .flat_map(|name| places.iter().map(move |place| place.join(name)))
        .find(|file| file.is_file())
}

/// Chromium and its driver; where they are missing, the tests say so, and fail where they must be.
fn programs() -> Option<(PathBuf, PathBuf)> {
    let both = program(&["chromium", "chromium-browser"]).zip(program(&["chromedriver"]));
    if both.is_none() {
        let words =
            "Chromium and its driver (Debian: chromium, chromium-driver) are not on this machine";
        assert!(std::env::var_os("CI").is_none(), "{words}");
        eprintln!("SKIPPED: {words}; the desk was not tried in a browser");
    }
    both
}

impl Browser {
    /// Opens a window of that size (CSS px); `None` where there is no browser.
    pub(super) fn open(width: u32, height: u32) -> Option<Self> {
        let (chromium, chromedriver) = programs()?;
        let mut driver = Command::new(chromedriver)
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        let started = lines
            .by_ref()
            .map(Result::unwrap)
            .find(|line| line.contains("started successfully on port"))
            .unwrap();
        std::thread::spawn(move || lines.for_each(drop));
        let port = started
            .trim_end_matches('.')
            .rsplit(' ')
            .next()
            .unwrap()
            .parse()
            .unwrap();
        let profile = TempDir::new().unwrap();
        let mut browser = Self {
            driver,
            port,
            session: String::new(),
            _profile: profile,
        };
        let folder = browser._profile.path().display().to_string();
        let options = json!({
            "binary": chromium,
            "args": [
                "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
                "--no-first-run", "--disable-background-networking", "--hide-scrollbars",
                format!("--user-data-dir={folder}"),
            ],
            "mobileEmulation": {
                "deviceMetrics": { "width": width, "height": height, "pixelRatio": 1, "touch": width < 600 }
            },
            "prefs": { "download.default_directory": folder },
        });
        let wanted = json!({ "capabilities": { "alwaysMatch": {
            "goog:chromeOptions": options,
            "goog:loggingPrefs": { "browser": "ALL", "performance": "ALL" },
        } } });
        let made = browser.command("POST", "/session", &wanted);
        browser.session = made["sessionId"].as_str().unwrap().to_owned();
        Some(browser)
    }

    fn command(&self, method: &str, path: &str, body: &Value) -> Value {
        let answer = self.try_command(method, path, body);
        answer.unwrap_or_else(|error| panic!("{method} {path}: {error}"))
    }

    fn try_command(&self, method: &str, path: &str, body: &Value) -> Result<Value, String> {
        let host = format!("127.0.0.1:{}", self.port);
        let headers = [
            ("Host", host.as_str()),
            ("Content-Type", "application/json; charset=utf-8"),
        ];
        let body = if method == "POST" {
            body.to_string()
        } else {
            String::new()
        };
        let answer = request(self.port, method, path, &headers, body.as_bytes());
        let value = answer.json()["value"].clone();
        if answer.status == 200 {
            Ok(value)
        } else {
            Err(value["message"].as_str().unwrap_or("?").to_owned())
        }
    }

    fn own(&self, path: &str) -> String {
        format!("/session/{}{path}", self.session)
    }

    /// Opens an address.
    pub(super) fn go(&self, address: &str) {
        self.command("POST", &self.own("/url"), &json!({ "url": address }));
    }

    /// Runs a script in the page and gives what it returns.
    pub(super) fn run(&self, script: &str) -> Value {
        let body = json!({ "script": script, "args": [] });
        self.command("POST", &self.own("/execute/sync"), &body)
    }

    /// Runs a script that answers later, by calling its last argument.
    pub(super) fn run_later(&self, script: &str) -> Value {
        let timeouts = json!({ "script": 60_000 });
        self.command("POST", &self.own("/timeouts"), &timeouts);
        let body = json!({ "script": script, "args": [] });
        self.command("POST", &self.own("/execute/async"), &body)
    }

    /// Waits until a script's answer is true.
    #[track_caller]
    pub(super) fn wait(&self, what: &str) {
        let script = format!("return Boolean({what});");
        let started = Instant::now();
        loop {
            let seen = self
                .try_command(
                    "POST",
                    &self.own("/execute/sync"),
                    &json!({ "script": script, "args": [] }),
                )
                .unwrap_or(Value::Null);
            if seen == Value::Bool(true) {
                return;
            }
            assert!(
                started.elapsed() < PATIENCE,
                "in vain: {what}\n{}\n{:?}",
                self.run(
                    "return document.querySelector('.news')?.innerText ?? document.body.innerText"
                ),
                self.console()
            );
            sleep(Duration::from_millis(60));
        }
    }

    /// An element by its selector.
    #[track_caller]
    fn element(&self, selector: &str) -> String {
        let body = json!({ "using": "css selector", "value": selector });
        let found = self.command("POST", &self.own("/element"), &body);
        found[ELEMENT].as_str().unwrap().to_owned()
    }

    /// Clicks an element.
    #[track_caller]
    pub(super) fn click(&self, selector: &str) {
        let path = self.own(&format!("/element/{}/click", self.element(selector)));
        self.command("POST", &path, &json!({}));
    }

    /// Types into an element, or names a file to a file field.
    #[track_caller]
    pub(super) fn type_into(&self, selector: &str, text: &str) {
        let path = self.own(&format!("/element/{}/value", self.element(selector)));
        self.command("POST", &path, &json!({ "text": text }));
    }

    /// Names a file to a file field.
    pub(super) fn give_file(&self, selector: &str, file: &Path) {
        self.type_into(selector, file.to_str().unwrap());
    }

    /// Presses keys one after the other on whatever has the focus; Shift holds for those behind it.
    pub(super) fn press(&self, keys: &[&str]) {
        let mut actions = Vec::new();
        let mut held = false;
        for key in keys {
            actions.push(json!({ "type": "keyDown", "value": key }));
            if *key == key::SHIFT {
                held = true;
            } else {
                actions.push(json!({ "type": "keyUp", "value": key }));
            }
        }
        if held {
            actions.push(json!({ "type": "keyUp", "value": key::SHIFT }));
        }
        let body = json!({ "actions": [ { "type": "key", "id": "keys", "actions": actions } ] });
        self.command("POST", &self.own("/actions"), &body);
    }

    /// Presses the pointer at the first place, moves it along the others and lets go; places in CSS
    /// px of the window.
    pub(super) fn drag(&self, pointer: &str, places: &[(f64, f64)]) {
        let mut actions = Vec::new();
        for (index, (x, y)) in places.iter().enumerate() {
            let (x, y) = (x.round() as i64, y.round() as i64);
            actions.push(json!({ "type": "pointerMove", "duration": 30, "x": x, "y": y }));
            if index == 0 {
                actions.push(json!({ "type": "pointerDown", "button": 0 }));
            }
        }
        actions.push(json!({ "type": "pointerUp", "button": 0 }));
        let body = json!({ "actions": [ {
            "type": "pointer", "id": pointer, "parameters": { "pointerType": pointer },
            "actions": actions,
        } ] });
        self.command("POST", &self.own("/actions"), &body);
    }

    /// Where a place of the photo (px) stands in the window, CSS px.
    pub(super) fn on_screen(&self, x: f64, y: f64) -> (f64, f64) {
        let at = self.run(&format!(
            "const view = document.querySelector('.view');
             const at = new DOMPoint({x}, {y}).matrixTransform(view.getScreenCTM());
             return [at.x, at.y];"
        ));
        (at[0].as_f64().unwrap(), at[1].as_f64().unwrap())
    }

    /// The windows that are open.
    pub(super) fn windows(&self) -> Vec<String> {
        let all = self.command("GET", &self.own("/window/handles"), &Value::Null);
        let names = all.as_array().unwrap().iter();
        names
            .map(|name| name.as_str().unwrap().to_owned())
            .collect()
    }

    /// Turns to a window.
    pub(super) fn turn_to(&self, window: &str) {
        let body = json!({ "handle": window });
        self.command("POST", &self.own("/window"), &body);
    }

    /// Keeps a picture of the window for those who want to look: where `DESK_PICTURES` names a
    /// folder.
    pub(super) fn picture(&self, name: &str) {
        let Some(folder) = std::env::var_os("DESK_PICTURES") else {
            return;
        };
        use base64::Engine;
        let shot = self.command("GET", &self.own("/screenshot"), &Value::Null);
        let png = base64::engine::general_purpose::STANDARD.decode(shot.as_str().unwrap());
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(Path::new(&folder).join(name), png.unwrap()).unwrap();
    }

    fn log(&self, kind: &str) -> Vec<Value> {
        let logged = self.command("POST", &self.own("/se/log"), &json!({ "type": kind }));
        logged.as_array().unwrap().clone()
    }

    /// What the page's console says that is worse than a note.
    pub(super) fn console(&self) -> Vec<String> {
        let bad = |entry: &Value| matches!(entry["level"].as_str(), Some("SEVERE" | "WARNING"));
        let entries = self.log("browser").into_iter().filter(bad);
        entries.map(|entry| entry["message"].to_string()).collect()
    }

    /// Every address that pages asked for.
    pub(super) fn addresses(&self) -> Vec<String> {
        let sent = |entry: Value| -> Option<String> {
            let text = entry["message"].as_str()?.to_owned();
            let message: Value = serde_json::from_str(&text).ok()?;
            let message = &message["message"];
            (message["method"] == "Network.requestWillBeSent").then(|| {
                message["params"]["request"]["url"]
                    .as_str()
                    .unwrap_or("?")
                    .to_owned()
            })
        };
        self.log("performance")
            .into_iter()
            .filter_map(sent)
            .collect()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if !self.session.is_empty() {
            let _ = self.try_command("DELETE", &self.own(""), &Value::Null);
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
