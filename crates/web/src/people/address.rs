//! Where a request comes from.

use std::net::IpAddr;

use axum::http::HeaderMap;

/// The other end of the connection.
#[derive(Debug, Clone, Copy)]
pub struct Peer(pub IpAddr);

/// The address that tries are counted for. Behind a proxy it is the last one that the proxy
/// wrote: those before it are the client's own words.
pub fn of(headers: &HeaderMap, peer: Option<IpAddr>, behind_proxy: bool) -> Option<String> {
    if behind_proxy {
        let said = headers.get_all("x-forwarded-for").iter().next_back();
        let last = said
            .and_then(|v| v.to_str().ok())
            .and_then(|v| v.rsplit(',').next())
            .and_then(|v| v.trim().parse::<IpAddr>().ok());
        if let Some(last) = last {
            return Some(net_of(last));
        }
    }
    peer.map(net_of)
}

/// One customer has a whole /64 of IPv6: it counts as one.
fn net_of(address: IpAddr) -> String {
    match address.to_canonical() {
        IpAddr::V4(v4) => v4.to_string(),
        IpAddr::V6(v6) => {
            let [a, b, c, d, ..] = v6.segments();
            format!("{a:x}:{b:x}:{c:x}:{d:x}::")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_the_proxy_wrote_last_counts() {
        let mut headers = HeaderMap::new();
        headers.append("x-forwarded-for", "1.2.3.4, 5.6.7.8".parse().unwrap());
        let peer = Some("127.0.0.1".parse().unwrap());
        assert_eq!(of(&headers, peer, true).as_deref(), Some("5.6.7.8"));
        assert_eq!(of(&headers, peer, false).as_deref(), Some("127.0.0.1"));
        assert_eq!(
            of(&HeaderMap::new(), peer, true).as_deref(),
            Some("127.0.0.1")
        );
        assert_eq!(of(&HeaderMap::new(), None, true), None);
        let six = Some("2001:db8:1:2:3:4:5:6".parse().unwrap());
        let mapped = Some("::ffff:9.8.7.6".parse().unwrap());
        assert_eq!(of(&headers, six, false).as_deref(), Some("2001:db8:1:2::"));
        assert_eq!(of(&headers, mapped, false).as_deref(), Some("9.8.7.6"));
    }
}
