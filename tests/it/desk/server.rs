//! A desk opened for a test, and closed with it.

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};

use serde_json::{Value, json};

use super::http::{Answer, request};

pub(super) const SCAN: &[u8] = include_bytes!("../../../testdata/demo/lamp_pull.jpg");
pub(super) const PLAN: &str = include_str!("../../../testdata/demo/lamp_pull.plan.json");

/// An open desk.
pub(super) struct Desk {
    child: Child,
    pub(super) port: u16,
    pub(super) token: String,
}

impl Desk {
    /// Opens a desk on a free port.
    pub(super) fn open() -> Self {
        let mut child = Command::new(assert_cmd::cargo::cargo_bin!("evenfell"))
            .args(["desk", "--port", "0"])
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let address = lines
            .by_ref()
            .map(Result::unwrap)
            .find(|line| line.contains("http://"))
            .unwrap();
        // It may go on speaking: somebody must listen.
        std::thread::spawn(move || lines.for_each(drop));
        let (host, token) = address.trim().split_once("/?token=").unwrap();
        let port = host.rsplit(':').next().unwrap().parse().unwrap();
        Self {
            child,
            port,
            token: token.to_owned(),
        }
    }

    /// The address to open in a browser.
    pub(super) fn address(&self) -> String {
        format!("http://127.0.0.1:{}/?token={}", self.port, self.token)
    }

    pub(super) fn host(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }

    pub(super) fn cookie(&self) -> String {
        format!("evenfell_desk_{}={}", self.port, self.token)
    }

    /// Asks as the desk's own page would.
    pub(super) fn ask(&self, method: &str, path: &str, body: &[u8]) -> Answer {
        let (host, cookie) = (self.host(), self.cookie());
        let headers = [
            ("Host", host.as_str()),
            ("Cookie", cookie.as_str()),
            ("Content-Type", "application/json"),
        ];
        request(self.port, method, path, &headers, body)
    }

    /// Puts the sample scan on the desk and gives its number.
    pub(super) fn put_sample(&self) -> u64 {
        let answer = self.ask("POST", "/api/photos?name=lamp_pull.jpg", SCAN);
        assert_eq!(answer.status, 200, "{}", answer.text());
        answer.json()["id"].as_u64().unwrap()
    }

    /// Measures a photo by the file's own resolution, against the sample's plan.
    pub(super) fn measure(&self, id: u64, corrections: &Value) -> Answer {
        self.measure_with(id, &json!({ "corrections": corrections }))
    }

    /// The same with these fields more.
    pub(super) fn measure_with(&self, id: u64, more: &Value) -> Answer {
        let mut asked = json!({ "scale": "dpi", "plan": PLAN });
        for (name, value) in more.as_object().unwrap() {
            asked[name] = value.clone();
        }
        let path = format!("/api/photos/{id}/measure");
        self.ask("POST", &path, asked.to_string().as_bytes())
    }

    /// The desk still works.
    pub(super) fn assert_goes_on(&self) {
        assert_eq!(self.ask("GET", "/api/photos", b"").status, 200);
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
