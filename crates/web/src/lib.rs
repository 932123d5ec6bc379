//! The web application: server-rendered pages with live updates, everything
//! embedded in the binary, nothing asked of the network.
//!
//! Pages hold ready text; numbers are printed by `quantity` and figures come from
//! `batch`. A page works without scripts: forms post and come back. With them, an
//! edit swaps what it changed in place.

mod acting;
mod api;
mod assets;
mod connections;
mod error;
mod guard;
mod handlers;
mod page;
mod people;
mod phones;
mod problem;
mod routes;
mod settings;
mod telemetry;
mod views;
mod work;

use std::future::pending;
use std::net::SocketAddr;

use app::App;
use tokio::net::TcpListener;

pub use api::openapi;
pub use guard::Hosts;
pub use people::Sharing;
pub use routes::{router, shared_router};
pub use views::report::{inquiry_report, report};

/// A server that listens and has not begun to answer.
#[derive(Debug)]
pub struct Server {
    listener: TcpListener,
    address: SocketAddr,
}

impl Server {
    /// Listens; port 0 takes a free one.
    ///
    /// # Errors
    /// If the address cannot be taken.
    pub async fn bind(address: SocketAddr) -> std::io::Result<Self> {
        let listener = TcpListener::bind(address).await?;
        let address = listener.local_addr()?;
        Ok(Self { listener, address })
    }

    /// Where it listens.
    #[must_use]
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// Answers until `stop` comes.
    pub async fn serve(
        self,
        app: App,
        hosts: Hosts,
        stop: impl Future<Output = ()> + Send + 'static,
    ) {
        connections::answer(self.listener, router(app, hosts), stop).await;
    }

    /// Answers people with accounts until `stop` comes.
    ///
    /// # Errors
    /// Where somebody acts in the application already.
    pub async fn serve_shared(
        self,
        app: &App,
        hosts: Hosts,
        sharing: Sharing,
        stop: impl Future<Output = ()> + Send + 'static,
    ) -> Result<(), app::AppError> {
        let router = routes::shared_router(app, hosts, sharing)?;
        connections::answer(self.listener, router, stop).await;
        Ok(())
    }

    /// Tells whoever watches over the server how it fares, for as long as the process lives.
    pub async fn serve_metrics(self, app: App) {
        connections::answer(self.listener, telemetry::of_metrics(app), pending()).await;
    }

    /// Takes readings of devices and nothing else, for as long as the process lives.
    pub async fn serve_readings(self, app: App) {
        connections::answer(self.listener, routes::of_readings(app), pending()).await;
    }

    /// The same, with a door of its own for the phones of tasters: it leads to a
    /// taster's page alone, by a code that the page of a tasting makes.
    pub async fn serve_with_phones(
        self,
        door: Self,
        app: App,
        hosts: Hosts,
        stop: impl Future<Output = ()> + Send + 'static,
    ) {
        let phones = phones::Phones::at(door.address);
        let own = Hosts::of_address(door.address);
        let outside = phones::router(app.clone(), own, phones.clone());
        let inside = routes::with_phones(app, hosts, phones);
        tokio::select! {
            () = connections::answer(self.listener, inside, stop) => {}
            () = connections::answer(door.listener, outside, pending()) => {}
        }
    }
}
