//! Starting and ending the server.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use shelf::Shelf;
use tokio::net::TcpListener;
use tokio::sync::watch;
use tower_http::catch_panic::CatchPanicLayer;

use crate::app::guard::{self, Guard};
use crate::app::refused::Refused;
use crate::app::running::Running;
pub use crate::app::running::now;
use crate::app::{api, files};
use crate::failure::Failure;

/// Stack of the threads that read and compute, in bytes: as much as the first thread of a program has.
const STACK: usize = 8 * 1024 * 1024;
/// How long open connections may take to end when the program does.
const LAST_WORDS: Duration = Duration::from_secs(2);
/// How long a connection may take to tell the head of a request, and to lie idle between two.
const HEAD: Duration = Duration::from_secs(10);
/// How long to wait where no connection can be had.
const BREATH: Duration = Duration::from_millis(200);
/// How often it is looked whether a backup of the day is missing.
const BACKUP: Duration = Duration::from_secs(60 * 60);

/// The shelf of a folder, with what she must be told of it.
///
/// # Errors
/// [`Failure::Shelf`] where it cannot be used.
pub fn open_shelf(folder: &Path) -> Result<(Shelf, Vec<String>), Failure> {
    let (shelf, notices) = Shelf::open(folder, now())?;
    Ok((shelf, notices.into_iter().map(|notice| notice.0).collect()))
}

/// A server that is about to serve.
pub struct Server {
    listener: std::net::TcpListener,
    token: String,
    port: u16,
}

impl Server {
    /// Takes a port on loopback, a free one where none is given.
    ///
    /// # Errors
    /// [`Failure::Server`] where it cannot be had.
    pub fn bind(port: Option<u16>) -> Result<Server, Failure> {
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port.unwrap_or(0)));
        let listener = std::net::TcpListener::bind(address).map_err(Failure::Server)?;
        listener.set_nonblocking(true).map_err(Failure::Server)?;
        let port = listener.local_addr().map_err(Failure::Server)?.port();
        Ok(Server { listener, token: token()?, port })
    }

    /// The port.
    pub fn port(&self) -> u16 {
        self.port
    }

    /// The address to open; what stands behind `#` never leaves the browser.
    pub fn address(&self, project: Option<shelf::ProjectId>) -> String {
        let project = project.map_or_else(String::new, |id| format!("?project={}", id.number()));
        format!("http://127.0.0.1:{}/{project}#{}", self.port, self.token)
    }

    /// Serves until the program is told to end.
    ///
    /// # Errors
    /// [`Failure::Server`] where the system refuses.
    pub fn serve(self, shelf: Shelf, notices: Vec<String>, ready: impl FnOnce()) -> Result<(), Failure> {
        let runtime =
            tokio::runtime::Builder::new_multi_thread().enable_all().thread_stack_size(STACK).build();
        let runtime = runtime.map_err(Failure::Server)?;
        let served = runtime.block_on(async move {
            let (end, ending) = watch::channel(false);
            let running = Arc::new(Running::new(shelf, notices, ending.clone()));
            let guard = Arc::new(Guard::new(self.port, self.token));
            let listener = TcpListener::from_std(self.listener)?;
            tokio::spawn(async move {
                told_to_end().await;
                let _ = end.send(true);
            });
            tokio::spawn(back_up(Arc::clone(&running)));
            ready();
            answer(&listener, router(running, guard), ending).await;
            Ok(())
        });
        // What is still being computed is of no more use to anyone.
        runtime.shutdown_background();
        served.map_err(Failure::Server)
    }
}

/// Answers connections until the program is told to end; then those that are open may end what they are at.
async fn answer(listener: &TcpListener, router: Router, mut ending: watch::Receiver<bool>) {
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(HEAD);
    let open = GracefulShutdown::new();
    loop {
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            _ = ending.wait_for(|ending| *ending) => break,
        };
        let Ok((stream, _)) = accepted else {
            // Too many open files, or a connection that was gone at once.
            tokio::time::sleep(BREATH).await;
            continue;
        };
        // The last piece of an answer must not wait until the browser has acknowledged the others.
        let _ = stream.set_nodelay(true);
        let service = TowerToHyperService::new(router.clone());
        let connection = open.watch(http.serve_connection(TokioIo::new(stream), service));
        // A connection that breaks off harms nobody else.
        tokio::spawn(async move { drop(connection.await) });
    }
    let _ = tokio::time::timeout(LAST_WORDS, open.shutdown()).await;
}

/// All routes behind the guard; a panic of a handler is answered and harms nobody else.
fn router(running: Arc<Running>, guard: Arc<Guard>) -> Router {
    let (api, _) = api::routes();
    api.fallback(elsewhere)
        .with_state(running)
        .method_not_allowed_fallback(wrong_method)
        .layer(CatchPanicLayer::custom(|_: Box<dyn std::any::Any + Send>| {
            Refused::stumbled().into_response()
        }))
        .layer(from_fn_with_state(guard, guard::check))
}

/// The front end, for everything that is not the interface.
async fn elsewhere(uri: axum::http::Uri) -> Response {
    if uri.path().starts_with("/api") {
        return Refused::missing("there is nothing under this address").into_response();
    }
    files::file(uri).await
}

async fn wrong_method() -> Response {
    Refused::new(
        axum::http::StatusCode::METHOD_NOT_ALLOWED,
        "this cannot be done here",
        "see the description of the interface",
    )
    .into_response()
}

/// Makes a backup of every day, however long the program stays open.
async fn back_up(running: Arc<Running>) {
    loop {
        tokio::time::sleep(BACKUP).await;
        if let Err(refused) = running.shelf(|shelf| shelf.back_up(now())).await {
            anstream::eprintln!("note: no backup of the projects could be made: {}", refused.message);
        }
    }
}

/// Waits until the user or the system ends the program.
async fn told_to_end() {
    let interrupted = async {
        // Where the signal cannot be had, the program is ended the hard way; nothing is lost by that.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminated) = signal(SignalKind::terminate()) {
            tokio::select! {
                () = interrupted => {}
                _ = terminated.recv() => {}
            }
            return;
        }
    }
    interrupted.await;
}

/// A secret that nobody can guess, in letters and digits.
fn token() -> Result<String, Failure> {
    let mut bytes = [0u8; 24];
    getrandom::fill(&mut bytes).map_err(|error| Failure::Server(std::io::Error::other(error.to_string())))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}
