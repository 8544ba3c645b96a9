//! Who may come in: requests from this machine, to this server, from its own page, with the key in the link or the cookie it left.

use std::fmt::Write as _;
use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::header::{self, HeaderName, HeaderValue};
use axum::http::{HeaderMap, Method, StatusCode, Uri};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::shell;
use super::trouble::{Sorry, Trouble, bytes_of};

/// What the page may load: itself, and nothing from elsewhere.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; \
     font-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/// Headers of every answer.
const HEADERS: [(HeaderName, &str); 7] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "no-referrer"),
    (
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("permissions-policy"),
        "camera=(), microphone=(), geolocation=()",
    ),
];

/// What is known at the door.
pub(crate) struct Guard {
    port: u16,
    key: String,
    cookie: String,
}

impl Guard {
    pub(crate) fn new(port: u16, key: String) -> Self {
        // Cookies are shared by all ports of a host, so the name carries the port.
        Self {
            port,
            key,
            cookie: format!("bellcrank-{port}"),
        }
    }

    /// The link that opens the page.
    pub(crate) fn link(&self) -> String {
        format!("http://127.0.0.1:{}/?key={}", self.port, self.key)
    }

    /// The cookie to leave with whoever came by the link.
    pub(crate) fn set_cookie(&self) -> String {
        format!(
            "{}={}; HttpOnly; SameSite=Strict; Path=/",
            self.cookie, self.key
        )
    }

    /// The key is right. Takes the same time wherever it is wrong.
    pub(crate) fn is_key(&self, tried: &str) -> bool {
        let (own, tried) = (self.key.as_bytes(), tried.as_bytes());
        own.len() == tried.len() && own.iter().zip(tried).fold(0, |d, (a, b)| d | (a ^ b)) == 0
    }

    pub(crate) fn has_cookie(&self, headers: &HeaderMap) -> bool {
        headers
            .get_all(header::COOKIE)
            .iter()
            .filter_map(|value| value.to_str().ok())
            .flat_map(|value| value.split(';'))
            .filter_map(|pair| pair.trim().split_once('='))
            .any(|(name, value)| name == self.cookie && self.is_key(value))
    }

    /// Why this request is not answered.
    fn refuse(&self, method: &Method, uri: &Uri, headers: &HeaderMap) -> Option<Trouble> {
        let one = |name: HeaderName| {
            let mut all = headers.get_all(name).iter();
            match (all.next(), all.next()) {
                (None, _) => Ok(None),
                (Some(value), None) => value.to_str().map(Some).map_err(|_| ()),
                _ => Err(()),
            }
        };
        let own = [
            format!("127.0.0.1:{}", self.port),
            format!("localhost:{}", self.port),
        ];
        let Ok(Some(host)) = one(header::HOST) else {
            return Some(elsewhere());
        };
        if !own.iter().any(|own| own == host) || uri.authority().is_some() {
            return Some(elsewhere());
        }
        match one(header::ORIGIN) {
            Ok(None) => {}
            Ok(Some(origin)) if origin.strip_prefix("http://") == Some(host) => {}
            _ => return Some(elsewhere()),
        }
        match one(HeaderName::from_static("sec-fetch-site")) {
            Ok(None | Some("same-origin" | "none")) => {}
            _ => return Some(elsewhere()),
        }
        if ![Method::GET, Method::HEAD, Method::POST, Method::DELETE].contains(method) {
            let told = Trouble::new(StatusCode::METHOD_NOT_ALLOWED, "nothing is done that way");
            return Some(told);
        }
        // Without the cookie there is only the door, which looks at the key itself.
        if uri.path() != "/" && !self.has_cookie(headers) {
            return Some(no_key());
        }
        None
    }
}

fn elsewhere() -> Trouble {
    Trouble::new(
        StatusCode::FORBIDDEN,
        "this request does not come from the page itself",
    )
    .what_to_do("open the page by the link that `bellcrank open` prints")
}

/// Somebody came without the key.
pub(crate) fn no_key() -> Trouble {
    Trouble::new(
        StatusCode::FORBIDDEN,
        "the key of this page is missing or is not this one",
    )
    .what_to_do("open the page by the link that `bellcrank open` printed when it started")
}

/// Lets a request through, or not; and puts the safety headers on every answer.
pub(crate) async fn watch(
    State(guard): State<Arc<Guard>>,
    request: Request,
    next: Next,
) -> Response {
    let accepts = request.headers().get(header::ACCEPT);
    let accepts = accepts.and_then(|a| a.to_str().ok()).unwrap_or_default();
    // Somebody looks at it, not the page's own script.
    let looked_at = accepts.contains("text/html") && !request.uri().path().starts_with("/api/");
    let refused = guard.refuse(request.method(), request.uri(), request.headers());
    let mut response = match refused {
        Some(trouble) => trouble.into_response(),
        None => next.run(request).await,
    };
    let status = response.status();
    let kind = response.headers().get(header::CONTENT_TYPE);
    if (status.is_client_error() || status.is_server_error())
        && kind.is_none_or(|kind| kind != "application/json")
    {
        // What the router itself refuses is told like everything else.
        response = Trouble::new(status, "the link is not understood").into_response();
    }
    if looked_at && let Some(sorry) = response.extensions_mut().remove::<Sorry>() {
        let html = shell::sorry(&sorry.0, &sorry.1);
        response = (status, bytes_of("text/html; charset=utf-8", html)).into_response();
    }
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

/// So many random bytes from the system, as hexadecimal digits.
pub(crate) fn random(bytes: usize) -> Result<String, getrandom::Error> {
    let mut own = vec![0; bytes];
    getrandom::fill(&mut own)?;
    let mut text = String::with_capacity(2 * bytes);
    for byte in own {
        let _ = write!(text, "{byte:02x}");
    }
    Ok(text)
}
