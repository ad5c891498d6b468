//! What `desk` was asked; the listener and its limits.

use std::io::{Write, stdout};
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use clap::Args;
use evenfell::Error;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;

use super::guard::Gate;
use super::routes::routes;
use crate::exit::{Outcome, Stop};

/// Connections that are served at once; a browser opens six.
const MOST_CONNECTIONS: usize = 64;
/// How long a request's head may take to arrive.
const HEAD_WITHIN: Duration = Duration::from_secs(10);
/// Bytes of a token: 128 bits can't be guessed.
const TOKEN_BYTES: usize = 16;

/// What `desk` was asked.
#[derive(Debug, Args)]
pub(crate) struct DeskArgs {
    /// Port on this machine; 0 takes a free one
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub(crate) port: u16,
}

/// Opens the desk and serves it until it is closed.
pub(crate) fn run(args: &DeskArgs) -> Result<Outcome, Stop> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    let outcome = runtime.block_on(serve(args.port));
    // A photo that is still being measured has nobody to show it to.
    runtime.shutdown_background();
    outcome
}

async fn serve(port: u16) -> Result<Outcome, Stop> {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))
        .await
        .map_err(|error| Error::Request {
            what: format!("--port {port}"),
            why: format!("can't be opened ({error}): choose another, or leave it out"),
        })?;
    let address = listener.local_addr()?;
    let gate = Arc::new(Gate::new(address.port(), token()?));
    greet(address, &gate)?;
    let app = routes(gate);
    let places = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    loop {
        let taken = tokio::select! {
            taken = listener.accept() => taken,
            _ = tokio::signal::ctrl_c() => return Ok(Outcome::Done),
        };
        let Ok((stream, _)) = taken else {
            // Out of file handles, most likely: let some be freed.
            tokio::time::sleep(Duration::from_millis(100)).await;
            continue;
        };
        if let Ok(place) = Arc::clone(&places).try_acquire_owned() {
            let app = app.clone();
            tokio::spawn(async move {
                converse(stream, app).await;
                drop(place);
            });
        }
    }
}

/// Serves one connection; what goes wrong on it ends it and nothing else.
async fn converse(stream: TcpStream, app: Router) {
    let mut connection = http1::Builder::new();
    connection
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_WITHIN);
    let service = TowerToHyperService::new(app);
    // A connection that broke has nobody to tell.
    let _ = connection
        .serve_connection(TokioIo::new(stream), service)
        .await;
}

/// Says where the desk is, on standard output, for people and for scripts.
fn greet(address: SocketAddr, gate: &Gate) -> std::io::Result<()> {
    let mut out = stdout().lock();
    writeln!(
        out,
        "The desk is open. In a browser on this machine, go to\n\n  http://{address}/?token={}\n\n\
         Ctrl-C closes it; what wasn't saved is gone then.",
        gate.token()
    )?;
    out.flush()
}

/// A token that can't be guessed.
fn token() -> Result<String, Stop> {
    let mut bytes = [0; TOKEN_BYTES];
    getrandom::fill(&mut bytes).map_err(|error| Error::Request {
        what: "desk".to_owned(),
        why: format!("this machine gives no random numbers ({error})"),
    })?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}
