//! Taking connections, each within bounds, so that a client that says nothing, or says it
//! slowly, holds no place for long.

use std::io::ErrorKind;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::http::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::time::{sleep, timeout};
use tower::util::MapRequest;

use crate::people::Peer;

/// The head of a request is here within this, also the first one of a connection that
/// was kept open.
const HEAD_WITHIN: Duration = Duration::from_secs(20);
/// Connections at once; more wait until one ends.
const MOST: u32 = 512;
/// How long those that are under way may take when the server ends.
const LAST: Duration = Duration::from_secs(10);
/// Until the next try, when the system has no room for a connection.
const PAUSE: Duration = Duration::from_millis(500);

/// Answers until `stop` comes, then lets the requests that are under way end.
pub async fn answer(listener: TcpListener, router: Router, stop: impl Future<Output = ()> + Send) {
    let places = Arc::new(Semaphore::new(MOST as usize));
    let (end, ending) = watch::channel(());
    tokio::pin!(stop);
    loop {
        let next = tokio::select! {
            () = &mut stop => break,
            next = accept(&listener, &places) => next,
        };
        if let Some((stream, place)) = next {
            tokio::spawn(converse(stream, router.clone(), ending.clone(), place));
        }
    }
    drop(listener);
    drop(end);
    // Whoever is not done by then is cut off.
    let _ = timeout(LAST, places.acquire_many(MOST)).await;
}

/// The next connection, once there is a place for it.
async fn accept(
    listener: &TcpListener,
    places: &Arc<Semaphore>,
) -> Option<(TcpStream, OwnedSemaphorePermit)> {
    let place = Arc::clone(places).acquire_owned().await.ok()?;
    match listener.accept().await {
        Ok((stream, _)) => Some((stream, place)),
        Err(error) => {
            let of_the_client = matches!(
                error.kind(),
                ErrorKind::ConnectionAborted
                    | ErrorKind::ConnectionRefused
                    | ErrorKind::ConnectionReset
            );
            if !of_the_client {
                sleep(PAUSE).await;
            }
            None
        }
    }
}

/// The requests of one connection. Its place is free again when this ends.
async fn converse(
    stream: TcpStream,
    router: Router,
    mut ending: watch::Receiver<()>,
    _place: OwnedSemaphorePermit,
) {
    // Answers are short; waiting to fill a packet would only hold them up.
    let _ = stream.set_nodelay(true);
    let peer = stream.peer_addr().map(|at| Peer(at.ip())).ok();
    let with_peer = move |mut request: Request<Incoming>| {
        if let Some(peer) = peer {
            request.extensions_mut().insert(peer);
        }
        request
    };
    let conversation = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_WITHIN)
        .serve_connection(
            TokioIo::new(stream),
            TowerToHyperService::new(MapRequest::new(router, with_peer)),
        );
    tokio::pin!(conversation);
    tokio::select! {
        _ = conversation.as_mut() => return,
        _ = ending.changed() => conversation.as_mut().graceful_shutdown(),
    }
    // A client that breaks off is no trouble of the server.
    let _ = conversation.await;
}
