//! Who may ask, how long an answer may take, and what every answer carries.
//!
//! A page of somebody else's, open in the same browser, can send requests here too, even under a
//! name of its own that it lets point at this machine. So a request must name this machine as its
//! host, carry the token (which such a page can't know), and, where it changes something, come from
//! the desk's own page.

use std::sync::Arc;
use std::time::Duration;

use axum::extract::{Request, State};
use axum::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::refusal::Refusal;
use super::store::MOST_PHOTO_BYTES;

/// The longest that a request may take in all, an upload and a measurement included.
const ANSWER_WITHIN: Duration = Duration::from_secs(180);

/// What the desk's page may load: itself, and pictures that it makes.
const POLICY: &str = "default-src 'self'; img-src 'self' blob: data:; object-src 'none'; \
                      base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// What lets a request in.
#[derive(Debug)]
pub(crate) struct Gate {
    hosts: [String; 2],
    cookie: String,
    token: String,
}

impl Gate {
    /// The gate of the desk at `port`.
    pub(super) fn new(port: u16, token: String) -> Self {
        Self {
            hosts: [format!("127.0.0.1:{port}"), format!("localhost:{port}")],
            // Cookies don't keep ports apart.
            cookie: format!("evenfell_desk_{port}"),
            token,
        }
    }

    /// The token.
    pub(super) fn token(&self) -> &str {
        &self.token
    }

    /// Whether two texts are the same, in a time that doesn't tell where they differ.
    fn is_token(&self, given: &str) -> bool {
        let pairs = given.bytes().zip(self.token.bytes());
        given.len() == self.token.len() && pairs.fold(0, |off, (a, b)| off | (a ^ b)) == 0
    }

    fn has_cookie(&self, headers: &HeaderMap) -> bool {
        headers
            .get_all(header::COOKIE)
            .iter()
            .filter_map(|value| value.to_str().ok())
            .flat_map(|value| value.split(';'))
            .filter_map(|pair| pair.trim().split_once('='))
            .any(|(name, value)| name == self.cookie && self.is_token(value))
    }

    fn knows_host(&self, headers: &HeaderMap) -> bool {
        let mut given = headers.get_all(header::HOST).iter();
        let known = given
            .next()
            .and_then(|host| host.to_str().ok())
            .is_some_and(|host| self.hosts.iter().any(|own| own == host));
        known && given.next().is_none()
    }

    /// Whether a request that changes something comes from the desk's own page, as far as the
    /// browser says where it comes from.
    fn is_own_page(&self, headers: &HeaderMap) -> bool {
        let text = |name: HeaderName| headers.get(name).map(|value| value.to_str().unwrap_or("?"));
        let origin = text(header::ORIGIN).is_none_or(|origin| {
            let host = origin.strip_prefix("http://").unwrap_or_default();
            self.hosts.iter().any(|own| own == host)
        });
        let site = text(HeaderName::from_static("sec-fetch-site"));
        origin && site.is_none_or(|site| matches!(site, "same-origin" | "none"))
    }

    /// The token in the address of the first visit.
    fn in_address<'a>(&self, request: &'a Request) -> Option<&'a str> {
        let query = request.uri().query().unwrap_or_default();
        let mut pairs = query.split('&').filter_map(|pair| pair.split_once('='));
        pairs
            .find(|(name, _)| *name == "token")
            .map(|(_, value)| value)
            .filter(|_| request.method() == Method::GET && request.uri().path() == "/")
    }

    /// Lets the first visit in for good: the token moves from the address into a cookie.
    fn welcome(&self) -> Response {
        let cookie = format!(
            "{}={}; HttpOnly; SameSite=Strict; Path=/",
            self.cookie, self.token
        );
        let headers = [
            (header::SET_COOKIE, cookie),
            (header::LOCATION, "/".to_owned()),
        ];
        (StatusCode::SEE_OTHER, headers).into_response()
    }
}

/// Lets a request in or refuses it, limits its time and signs the answer.
pub(super) async fn guard(State(gate): State<Arc<Gate>>, request: Request, next: Next) -> Response {
    let mut response = match admit(&gate, &request) {
        Err(refusal) => refusal.into_response(),
        Ok(Some(welcome)) => welcome,
        Ok(None) => tokio::time::timeout(ANSWER_WITHIN, next.run(request))
            .await
            .unwrap_or_else(|_| Refusal::too_slow().into_response()),
    };
    sign(response.headers_mut());
    response
}

/// `None` where the request may go on; an answer where that is all it needs.
fn admit(gate: &Gate, request: &Request) -> Result<Option<Response>, Refusal> {
    let headers = request.headers();
    if !gate.knows_host(headers) {
        return Err(Refusal::stranger(
            "this desk answers only under the address that it printed",
        ));
    }
    if let Some(given) = gate.in_address(request) {
        return if gate.is_token(given) {
            Ok(Some(gate.welcome()))
        } else {
            Err(Refusal::stranger(
                "this address is of another desk: open the one that evenfell desk printed",
            ))
        };
    }
    if !gate.has_cookie(headers) {
        return Err(Refusal::stranger(
            "open the whole address that evenfell desk printed, with its token",
        ));
    }
    if says_too_much(headers) {
        return Err(Refusal::too_much(format!(
            "that is larger than {} MiB: crop the photo to the band, or scan at a lower resolution",
            MOST_PHOTO_BYTES >> 20
        )));
    }
    let reads = matches!(*request.method(), Method::GET | Method::HEAD);
    if !reads && !gate.is_own_page(headers) {
        return Err(Refusal::stranger("only the desk's own page may do that"));
    }
    Ok(None)
}

/// Whether a request says of itself that it is larger than anything the desk takes.
fn says_too_much(headers: &HeaderMap) -> bool {
    headers
        .get(header::CONTENT_LENGTH)
        .and_then(|length| length.to_str().ok()?.parse::<usize>().ok())
        .is_some_and(|length| length > MOST_PHOTO_BYTES)
}

/// What every answer carries; an answer's own policy stays.
fn sign(headers: &mut HeaderMap) {
    headers
        .entry(header::CONTENT_SECURITY_POLICY)
        .or_insert(HeaderValue::from_static(POLICY));
    for (name, value) in [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        // Not even the browser's cache keeps a photo.
        (header::CACHE_CONTROL, "no-store"),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gate() -> Gate {
        Gate::new(4711, "0123456789abcdef0123456789abcdef".to_owned())
    }

    fn request(method: Method, address: &str, headers: &[(&str, &str)]) -> Request {
        let mut builder = Request::builder().method(method).uri(address);
        for (name, value) in headers {
            builder = builder.header(*name, *value);
        }
        builder.body(axum::body::Body::empty()).expect("a request")
    }

    #[test]
    fn only_this_host_with_the_token_from_the_own_page_is_let_in() {
        let host = ("host", "127.0.0.1:4711");
        let cookie = (
            "cookie",
            "other=1; evenfell_desk_4711=0123456789abcdef0123456789abcdef",
        );
        let here = ("origin", "http://127.0.0.1:4711");
        let there = ("origin", "http://quay.example");
        let get = Method::GET;
        for (method, address, headers, let_in) in [
            (get.clone(), "/", &[host, cookie][..], true),
            (get.clone(), "/", &[host], false),
            (get.clone(), "/", &[cookie], false),
            (
                get.clone(),
                "/",
                &[("host", "quay.example:4711"), cookie],
                false,
            ),
            (
                get.clone(),
                "/",
                &[host, ("host", "quay.example"), cookie],
                false,
            ),
            (
                get.clone(),
                "/",
                &[host, ("cookie", "evenfell_desk_4711=")],
                false,
            ),
            (
                get.clone(),
                "/?token=0123456789abcdef0123456789abcdef",
                &[host],
                true,
            ),
            (
                get.clone(),
                "/?token=0123456789abcdef0123456789abcdee",
                &[host, cookie],
                false,
            ),
            (
                get,
                "/api/photos?token=0123456789abcdef0123456789abcdef",
                &[host],
                false,
            ),
            (Method::POST, "/api/photos", &[host, cookie, here], true),
            (Method::POST, "/api/photos", &[host, cookie], true),
            (Method::POST, "/api/photos", &[host, cookie, there], false),
            (
                Method::POST,
                "/api/photos",
                &[host, cookie, ("origin", "null")],
                false,
            ),
            (
                Method::POST,
                "/api/photos",
                &[host, cookie, ("sec-fetch-site", "cross-site")],
                false,
            ),
        ] {
            let request = request(method, address, headers);
            assert_eq!(admit(&gate(), &request).is_ok(), let_in, "{request:?}");
        }
    }
}
