//! A shared server: nothing is answered before it is known who asks, but for the door.

mod account;
mod address;
mod api;
mod cookie;
mod door;
mod gate;
mod group;
mod share;
mod views;
pub(crate) mod visitor;

use std::net::IpAddr;

use app::App;
use app::people::Door;
use axum::Router;

pub use address::Peer;
pub use api::routes as api_routes;
pub(crate) use gate::{gate, retry_after};

use visitor::Budgets;

/// How a shared server stands in the network.
#[derive(Debug, Clone, Copy, Default)]
pub struct Sharing {
    /// A proxy in front says where requests come from; without one, that header is nobody's
    /// word.
    pub behind_proxy: bool,
}

/// What the gate and the door know.
#[derive(Clone)]
pub struct Shared {
    /// The application of the whole server: for the gate alone.
    app: App,
    door: Door,
    sharing: Sharing,
    budgets: Budgets,
}

impl Shared {
    /// # Errors
    /// Where somebody acts in the application already.
    pub(crate) fn over(app: &App, sharing: Sharing) -> Result<Self, app::AppError> {
        Ok(Self {
            door: app.door()?,
            app: app.clone(),
            sharing,
            budgets: Budgets::default(),
        })
    }

    /// Where a request comes from, as far as that can be known.
    fn comes_from(&self, headers: &axum::http::HeaderMap, peer: Option<IpAddr>) -> Option<String> {
        address::of(headers, peer, self.sharing.behind_proxy)
    }
}

/// The pages of the door, of a person and of a group.
pub(crate) fn routes() -> Router<App> {
    Router::new()
        .merge(door::routes())
        .merge(account::routes())
        .merge(group::routes())
        .merge(share::routes())
}
