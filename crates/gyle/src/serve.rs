//! Serving the web application.

use std::net::SocketAddr;

use app::App;
use tracing_subscriber::filter::LevelFilter;
use web::{Hosts, Server, Sharing};

use crate::cli::LogForm;
use crate::kept::{block_on, place};
use crate::problem::Problem;

/// Further addresses, each of which leads to one thing alone.
#[derive(Debug, Clone, Copy)]
pub struct Doors {
    /// For the phones of tasters.
    pub phones: Option<SocketAddr>,
    /// For devices that send readings.
    pub sensors: Option<SocketAddr>,
    /// For whoever watches over the server.
    pub metrics: Option<SocketAddr>,
    /// The main one is for people with accounts.
    pub shared: Option<Sharing>,
}

/// Where lines about the server go. Without a form, only what went wrong is written.
pub fn begin_log(form: Option<LogForm>) {
    let lines = tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_target(false);
    match form {
        None => lines.with_max_level(LevelFilter::ERROR).init(),
        Some(LogForm::Text) => lines.with_max_level(LevelFilter::INFO).init(),
        Some(LogForm::Json) => lines
            .json()
            .flatten_event(true)
            .with_max_level(LevelFilter::INFO)
            .init(),
    }
}

/// Serves until interrupted.
#[expect(clippy::print_stdout, reason = "the address is the result of this command")]
pub fn serve(
    named: Option<&str>,
    address: SocketAddr,
    allow_hosts: &[String],
    doors: &Doors,
    browser: bool,
    works: bool,
) -> Result<(), Problem> {
    let place = place(named)?;
    block_on(async {
        let app = App::open(place).await?;
        let app = if works { app } else { app.without_worker() };
        let server = bind(address, "--port").await?;
        let door = match doors.phones {
            None => None,
            Some(at) if at.ip().is_unspecified() => return Err(unnamed(at)),
            Some(at) => Some(bind(at, "--phones").await?),
        };
        let at = server.address();
        println!("gylewright is at http://{at}/ (Ctrl+C ends it)");
        if !at.ip().is_loopback() && doors.shared.is_some() {
            eprintln!(
                "others on the network can reach this address; passwords need TLS: a proxy in front (docs/operations.md)"
            );
        } else if !at.ip().is_loopback() {
            eprintln!(
                "others on the network can reach this address and change everything: it is not protected"
            );
        }
        if browser {
            // A machine without a browser still has the address above.
            let _ = open::that_detached(format!("http://{at}/"));
        }
        if let Some(door) = &door {
            println!(
                "phones of tasters come in at http://{}/, by a code",
                door.address()
            );
        }
        if let Some(at) = doors.sensors {
            let sensors = bind(at, "--sensors").await?;
            println!(
                "devices send readings to http://{}/api/readings, with a token (gyle device add)",
                sensors.address()
            );
            tokio::spawn(sensors.serve_readings(app.clone()));
        }
        if let Some(at) = doors.metrics {
            let metrics = bind(at, "--metrics").await?;
            println!(
                "how it fares is told at http://{}/metrics",
                metrics.address()
            );
            tokio::spawn(metrics.serve_metrics(app.clone()));
        }
        let names = hosts(at, allow_hosts);
        let worker = app.clone();
        if works {
            let looking = app.clone();
            tokio::spawn(async move { looking.look_for_work().await });
        }
        match (doors.shared, door) {
            (Some(sharing), _) => server.serve_shared(&app, names, sharing, stopped()).await?,
            (None, Some(door)) => server.serve_with_phones(door, app, names, stopped()).await,
            (None, None) => server.serve(app, names, stopped()).await,
        }
        // Another takes up at once what is not done here.
        worker.rest().await;
        Ok(())
    })
}

async fn bind(address: SocketAddr, option: &str) -> Result<Server, Problem> {
    Server::bind(address).await.map_err(|e| Problem::File {
        message: format!(
            "cannot listen on {address}: {e}; choose another with {option}, or port 0 for a free one"
        ),
    })
}

/// Phones need an address that can be written into a link.
fn unnamed(at: SocketAddr) -> Problem {
    Problem::File {
        message: format!(
            "phones cannot be sent to {at}; name the address of this machine on the local network, such as 192.168.1.20:4181"
        ),
    }
}

/// On an address that others can reach, that address is a name of this server.
fn hosts(at: SocketAddr, allowed: &[String]) -> Hosts {
    let mut names = allowed.to_vec();
    if !at.ip().is_unspecified() {
        names.push(match at {
            SocketAddr::V4(v4) => v4.ip().to_string(),
            SocketAddr::V6(v6) => format!("[{}]", v6.ip()),
        });
    }
    Hosts::new(&names)
}

/// Comes with Ctrl+C, and with the signal by which a service manager ends a program.
pub async fn stopped() {
    #[cfg(unix)]
    if let Ok(mut asked) = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate())
    {
        tokio::select! {
            _ = tokio::signal::ctrl_c() => {}
            _ = asked.recv() => {}
        }
        return;
    }
    let _ = tokio::signal::ctrl_c().await;
}
