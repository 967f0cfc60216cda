//! Who may ask: this computer's own browser, with the token of this start, for pages that came from here.
//!
//! | guard | against |
//! |---|---|
//! | loopback only | other computers |
//! | `Host` is our own address | a foreign name that was made to point here |
//! | `Origin` is our own, if there is one | pages of other sites |
//! | a token for everything under `/api/` | other programs and users of this computer |
//! | headers | scripts, frames and contents from elsewhere |

use std::sync::Arc;
use std::time::Duration;

use axum::extract::{Request, State};
use axum::http::header::{
    AUTHORIZATION, CACHE_CONTROL, CONTENT_SECURITY_POLICY, HOST, ORIGIN, REFERRER_POLICY,
    X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, Uri};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use tokio::sync::Semaphore;

use crate::app::refused::Refused;

/// What a page of ours may load: only what comes from here. Styles may stand in the page, because the editor puts some
/// there; scripts may not.
const POLICY: &str = "default-src 'self'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; \
                      font-src 'self'; worker-src 'self'; connect-src 'self'; object-src 'none'; base-uri 'none'; \
                      form-action 'none'; frame-ancestors 'none'";
/// Requests that are worked on at the same time; more wait for their turn.
const AT_ONCE: usize = 32;
/// How long one may wait and be worked on.
const LONGEST: Duration = Duration::from_secs(120);

/// What is asked of every request.
pub struct Guard {
    /// What `Host` may be.
    hosts: [String; 2],
    /// What `Origin` may be.
    origins: [String; 2],
    token: String,
    turns: Semaphore,
}

impl Guard {
    /// The guard of a server on this port.
    pub fn new(port: u16, token: String) -> Guard {
        let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
        let origins = hosts.clone().map(|host| format!("http://{host}"));
        Guard { hosts, origins, token, turns: Semaphore::new(AT_ONCE) }
    }

    fn check(&self, uri: &Uri, headers: &HeaderMap) -> Result<(), Refused> {
        let foreign = |message: &str| {
            Refused::new(
                StatusCode::FORBIDDEN,
                message,
                "open the app at the address that the program printed when it started",
            )
        };
        if !is_one_of(headers.get(HOST), &self.hosts) {
            return Err(foreign("this request was meant for another address"));
        }
        if headers.contains_key(ORIGIN) && !is_one_of(headers.get(ORIGIN), &self.origins) {
            return Err(foreign("this request comes from a page of another site"));
        }
        if !is_api(uri) {
            return Ok(());
        }
        let site = headers.get("sec-fetch-site").and_then(|site| site.to_str().ok());
        if site.is_some_and(|site| !matches!(site, "same-origin" | "none")) {
            return Err(foreign("this request comes from a page of another site"));
        }
        let given = headers.get(AUTHORIZATION).and_then(|given| given.to_str().ok());
        match given.and_then(|given| given.strip_prefix("Bearer ")) {
            Some(token) if is_same(token.as_bytes(), self.token.as_bytes()) => Ok(()),
            _ => Err(Refused::new(
                StatusCode::UNAUTHORIZED,
                "this window does not belong to the program that is running",
                "open the app at the address that the program printed when it started",
            )),
        }
    }
}

/// Lets a request through, or refuses it.
pub async fn check(State(guard): State<Arc<Guard>>, request: Request, next: Next) -> Response {
    let is_api = is_api(request.uri());
    let mut response = match guard.check(request.uri(), request.headers()) {
        Ok(()) => answer(&guard, request, next).await,
        Err(refused) => refused.into_response(),
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (CONTENT_SECURITY_POLICY, POLICY),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (REFERRER_POLICY, "no-referrer"),
        (X_FRAME_OPTIONS, "DENY"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if is_api {
        headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    response
}

async fn answer(guard: &Guard, request: Request, next: Next) -> Response {
    let busy = || {
        Refused::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "the program was too busy to answer in time",
            "wait a little and try once more; what was saved is safe",
        )
    };
    let answered = tokio::time::timeout(LONGEST, async {
        let _turn = guard.turns.acquire().await;
        next.run(request).await
    });
    answered.await.unwrap_or_else(|_| busy().into_response())
}

fn is_api(uri: &Uri) -> bool {
    uri.path().starts_with("/api/") || uri.path() == "/api"
}

fn is_one_of(value: Option<&HeaderValue>, allowed: &[String; 2]) -> bool {
    value.is_some_and(|value| allowed.iter().any(|one| one.as_bytes() == value.as_bytes()))
}

/// Compares in a time that tells nothing of where two differ.
fn is_same(one: &[u8], other: &[u8]) -> bool {
    one.len() == other.len() && one.iter().zip(other).fold(0, |sum, (a, b)| sum | (a ^ b)) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn status(path: &str, headers: &[(&str, &str)]) -> Option<StatusCode> {
        let guard = Guard::new(4321, "token".to_owned());
        let headers = headers.iter().map(|(name, value)| {
            (name.parse::<HeaderName>().unwrap(), HeaderValue::from_str(value).unwrap())
        });
        guard.check(&path.parse().unwrap(), &headers.collect()).err().map(|refused| refused.status)
    }

    #[test]
    fn only_our_own_pages_with_the_token_are_let_through() {
        const HOST: (&str, &str) = ("host", "127.0.0.1:4321");
        const TOKEN: (&str, &str) = ("authorization", "Bearer token");
        let api = "/api/projects";
        assert_eq!(status(api, &[HOST, TOKEN]), None);
        assert_eq!(status(api, &[("host", "localhost:4321"), TOKEN]), None);
        assert_eq!(status(api, &[HOST, TOKEN, ("origin", "http://127.0.0.1:4321")]), None);
        assert_eq!(status("/", &[HOST]), None, "the page itself needs no token");
        for host in ["evil.example:4321", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:4321.evil.example"] {
            assert_eq!(status(api, &[("host", host), TOKEN]), Some(StatusCode::FORBIDDEN), "{host}");
        }
        assert_eq!(status("/", &[]), Some(StatusCode::FORBIDDEN), "no host at all");
        for origin in ["http://evil.example", "null", "https://127.0.0.1:4321", ""] {
            assert_eq!(status("/", &[HOST, ("origin", origin)]), Some(StatusCode::FORBIDDEN), "{origin}");
        }
        let cross = ("sec-fetch-site", "cross-site");
        assert_eq!(status(api, &[HOST, TOKEN, cross]), Some(StatusCode::FORBIDDEN));
        for token in ["Bearer other", "Bearer ", "token", "Bearer tokens", "Basic token"] {
            let given = ("authorization", token);
            assert_eq!(status(api, &[HOST, given]), Some(StatusCode::UNAUTHORIZED), "{token}");
        }
        assert_eq!(status(api, &[HOST]), Some(StatusCode::UNAUTHORIZED));
    }
}
