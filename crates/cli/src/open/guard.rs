//! Who is answered: this machine's own page alone.
//!
//! A page of another site may send requests to 127.0.0.1, and by a name that it points there it may even read
//! the answers. So the host asked for must be ours, an origin that is told must be ours, and the address
//! holds a secret of 128 bits that such a page cannot know.

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::header::{self, HeaderName};
use axum::http::{HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::App;
use super::answer::Refused;
use super::server::{FILES, MOST_FILES, MOST_JSON};

/// What the page may load and do: its own files, and no inline script or style.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
    img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; form-action 'none'; \
    base-uri 'none'; frame-ancestors 'none'";

/// Every answer has them.
const HEADERS: [(HeaderName, &str); 5] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::CACHE_CONTROL, "no-store"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// A secret for the address: 128 random bits in hexadecimal digits.
///
/// # Errors
/// When the machine gives none.
pub fn token() -> Result<String, String> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes)
        .map_err(|error| format!("this machine gives no random numbers ({error})"))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Refuses foreign hosts and origins, and gives every answer its headers.
pub async fn guard(State(app): State<Arc<App>>, request: Request, next: Next) -> Response {
    let mut answer = match refused(&request, &app) {
        Some(refused) => refused.into_response(),
        None => next.run(request).await,
    };
    for (name, value) in HEADERS {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    answer
}

fn refused(request: &Request, app: &App) -> Option<Refused> {
    let told = |name: HeaderName| {
        let mut values = request.headers().get_all(name).iter();
        (values.next().map(|value| value.to_str().unwrap_or_default()), values.next().is_some())
    };
    let refuse = |what: &str| Some(Refused::new(StatusCode::FORBIDDEN, what));
    // A browser leaves the port of http out (RFC 9110, section 4.2.3).
    let port = if app.port == 80 { String::new() } else { format!(":{}", app.port) };
    let ours = [format!("127.0.0.1{port}"), format!("localhost{port}")];
    match told(header::HOST) {
        (Some(host), false) if ours.iter().any(|it| it == host) => {}
        _ => return refuse("this page is for 127.0.0.1 alone"),
    }
    match told(header::ORIGIN) {
        (None, _) => {}
        (Some(origin), false) if ours.iter().any(|it| format!("http://{it}") == origin) => {}
        _ => return refuse("a page of another site may not use this one"),
    }
    too_long(request, &app.token, told(header::CONTENT_LENGTH).0)
}

/// Refuses, before any of it is read, a body that says to be longer than one may be.
fn too_long(request: &Request, token: &str, length: Option<&str>) -> Option<Refused> {
    let is_files = request.uri().path() == format!("/{token}/{FILES}");
    let most = if is_files { MOST_FILES } else { MOST_JSON };
    let length: usize = length?.parse().unwrap_or(usize::MAX);
    (length > most).then(|| {
        let what = format!("more than {} MB at once; send less", most >> 20);
        Refused::new(StatusCode::PAYLOAD_TOO_LARGE, &what)
    })
}
