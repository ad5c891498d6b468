//! HTTP by hand, over a plain connection: a test must be able to send what no library would.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

/// An answer.
#[derive(Debug)]
pub(super) struct Answer {
    pub(super) status: u16,
    pub(super) head: String,
    pub(super) body: Vec<u8>,
}

impl Answer {
    /// A header's value.
    pub(super) fn header(&self, name: &str) -> Option<&str> {
        header_in(&self.head, name)
    }

    /// The body as text.
    pub(super) fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// The body as JSON.
    pub(super) fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.body).unwrap()
    }
}

/// A connection to a port of this machine.
pub(super) fn connect(port: u16) -> TcpStream {
    let stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    stream
        .set_read_timeout(Some(Duration::from_secs(120)))
        .unwrap();
    stream
}

/// Sends a whole request and waits for its answer.
pub(super) fn request(
    port: u16,
    method: &str,
    path: &str,
    headers: &[(&str, &str)],
    body: &[u8],
) -> Answer {
    let mut stream = connect(port);
    let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
    for (name, value) in headers {
        head.push_str(&format!("{name}: {value}\r\n"));
    }
    if !body.is_empty() || method == "POST" {
        head.push_str(&format!("Content-Length: {}\r\n", body.len()));
    }
    head.push_str("\r\n");
    stream.write_all(head.as_bytes()).unwrap();
    // A refusal may come before everything is sent.
    let _ = stream.write_all(body);
    answer(&mut stream)
}

/// Reads an answer: as long as it says it is, else until its sender closes.
pub(super) fn answer(stream: &mut TcpStream) -> Answer {
    let mut bytes = Vec::new();
    let mut block = [0; 1 << 16];
    let head_ends = |bytes: &[u8]| {
        let end = bytes.windows(4).position(|four| four == b"\r\n\r\n")?;
        Some((end, String::from_utf8_lossy(&bytes[..end]).into_owned()))
    };
    let mut head = None;
    // A refused upload may end in a reset after the answer.
    while let Ok(read @ 1..) = stream.read(&mut block) {
        bytes.extend_from_slice(&block[..read]);
        head = head.or_else(|| head_ends(&bytes));
        let length = head.as_ref().and_then(|(end, head)| {
            let length: usize = header_in(head, "content-length")?.parse().ok()?;
            Some(end + 4 + length)
        });
        if length.is_some_and(|length| bytes.len() >= length) {
            break;
        }
    }
    let Some((end, head)) = head else {
        return Answer {
            status: 0,
            head: String::new(),
            body: bytes,
        };
    };
    let status = head.split(' ').nth(1).and_then(|code| code.parse().ok());
    let chunked = header_in(&head, "transfer-encoding") == Some("chunked");
    let body = bytes[end + 4..].to_vec();
    Answer {
        status: status.unwrap_or(0),
        body: if chunked { joined(&body) } else { body },
        head,
    }
}

/// A header's value.
fn header_in<'a>(head: &'a str, name: &str) -> Option<&'a str> {
    head.lines().find_map(|line| {
        let (own, value) = line.split_once(':')?;
        own.eq_ignore_ascii_case(name).then(|| value.trim())
    })
}

/// The chunks of a body, put together.
fn joined(mut rest: &[u8]) -> Vec<u8> {
    let mut body = Vec::new();
    while let Some(end) = rest.windows(2).position(|two| two == b"\r\n") {
        let size = String::from_utf8_lossy(&rest[..end]).into_owned();
        let size = usize::from_str_radix(size.trim(), 16).unwrap_or(0);
        rest = &rest[end + 2..];
        if size == 0 || size > rest.len() {
            break;
        }
        body.extend_from_slice(&rest[..size]);
        rest = &rest[(size + 2).min(rest.len())..];
    }
    body
}
