//! The cookie of a session.

use app::people::SESSION_MS;
use axum::http::header::{COOKIE, HOST};
use axum::http::{HeaderMap, HeaderValue};

/// Over TLS: bound to this very host and path by the browser (RFC 6265bis, section 4.1.3).
const SECURE: &str = "__Host-gyle";
/// On the machine itself, where there is no TLS.
const LOOPBACK: &str = "gyle";

/// The tokens that a request shows. A browser that was misled may show two; each is tried.
pub fn tokens(headers: &HeaderMap) -> Vec<&str> {
    let name = name(headers);
    headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .filter(|(given, _)| *given == name)
        .map(|(_, value)| value)
        .take(2)
        .collect()
}

/// Lays a session into the browser.
pub fn set(headers: &HeaderMap, token: &str) -> Option<HeaderValue> {
    let age = SESSION_MS / 1000;
    with(headers, token, age)
}

/// Takes it out again.
pub fn clear(headers: &HeaderMap) -> Option<HeaderValue> {
    with(headers, "", 0)
}

fn with(headers: &HeaderMap, value: &str, age: i64) -> Option<HeaderValue> {
    let secure = if on_loopback(headers) { "" } else { "; Secure" };
    let name = name(headers);
    let cookie = format!("{name}={value}; Path=/; Max-Age={age}; HttpOnly; SameSite=Lax{secure}");
    HeaderValue::from_str(&cookie).ok()
}

fn name(headers: &HeaderMap) -> &'static str {
    if on_loopback(headers) {
        LOOPBACK
    } else {
        SECURE
    }
}

/// Whether the browser is on this machine, by the name under which it asks. The guard has
/// seen to it that the server answers to that name.
pub fn on_loopback(headers: &HeaderMap) -> bool {
    let host = headers.get(HOST).and_then(|v| v.to_str().ok());
    let host = host.unwrap_or_default();
    let name = match host.rsplit_once(':') {
        Some((name, port)) if port.chars().all(|c| c.is_ascii_digit()) => name,
        _ => host,
    };
    ["localhost", "127.0.0.1", "[::1]"].contains(&name)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(host: &'static str, cookie: &'static str) -> HeaderMap {
        let mut headers = HeaderMap::new();
        headers.insert(HOST, HeaderValue::from_static(host));
        headers.insert(COOKIE, HeaderValue::from_static(cookie));
        headers
    }

    #[test]
    fn away_from_the_machine_the_cookie_is_for_tls_and_this_host_alone() {
        let away = at("club.example", "gyle=a; __Host-gyle=b");
        assert_eq!(tokens(&away), ["b"]);
        let set = set(&away, "t").unwrap();
        let set = set.to_str().unwrap();
        assert!(
            set.starts_with("__Host-gyle=t; Path=/; ") && set.ends_with("; Secure"),
            "{set}"
        );
        assert!(!set.contains("Domain"), "{set}");
        let here = at("127.0.0.1:4180", "gyle=a; __Host-gyle=b");
        assert_eq!(tokens(&here), ["a"]);
        assert!(
            clear(&here)
                .unwrap()
                .to_str()
                .unwrap()
                .starts_with("gyle=; Path=/; Max-Age=0")
        );
    }
}
