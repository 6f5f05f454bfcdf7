//! How do the pages get to a browser? A listener on this machine, all addresses, and an orderly end.

use std::io::Write as _;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware;
use axum::routing::get;
use tokio::net::TcpListener;

use crate::cli::Common;
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::{ask, assets, guard, pages};

/// Largest form without a file, bytes: an aircraft file of thousands of lines.
const LARGEST_FORM: usize = 4 << 20;

/// What to listen on.
pub(crate) struct Listen {
    /// Address.
    pub(crate) address: IpAddr,
    /// Port; 0 takes a free one.
    pub(crate) port: u16,
    /// Key to be shown; made up where none is told and other machines may ask.
    pub(crate) key: Option<String>,
    /// Names of this machine besides its addresses.
    pub(crate) names: Vec<String>,
}

/// Serves the pages until it is told to stop. `ready` is called with the address to open, once it answers.
pub(crate) fn serve(common: Common, listen: Listen, ready: &mut dyn FnMut(&str)) -> Result<(), Trouble> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .max_blocking_threads(16)
        .enable_all()
        .build()
        .map_err(|e| refused(&listen, &e))?;
    runtime.block_on(async {
        let listener = TcpListener::bind(SocketAddr::new(listen.address, listen.port))
            .await
            .map_err(|e| refused(&listen, &e))?;
        let at = listener.local_addr().map_err(|e| refused(&listen, &e))?;
        let open = !listen.address.is_loopback();
        let key = listen.key.clone().or_else(|| open.then(ask::random_key));
        let names = listen.names.iter().map(|n| n.to_ascii_lowercase()).collect();
        let app = Arc::new(App::new(common, key.clone(), names, at.port()));
        ready(&address(at, key.as_deref()));
        axum::serve(listener, router(app))
            .with_graceful_shutdown(told_to_stop())
            .await
            .map_err(|e| refused(&listen, &e))
    })?;
    // Work that is still going on keeps nothing; what was acknowledged is on the disk.
    runtime.shutdown_background();
    Ok(())
}

/// All addresses.
fn router(app: Arc<App>) -> Router {
    Router::new()
        .route("/assets/{mark}/{name}", get(assets::send))
        .merge(pages::routes())
        .fallback(pages::missing)
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .layer(middleware::from_fn_with_state(Arc::clone(&app), guard::guard))
        .with_state(app)
}

fn address(at: SocketAddr, key: Option<&str>) -> String {
    let host = match at.ip() {
        ip if ip.is_unspecified() => "<this machine's address>".to_owned(),
        IpAddr::V6(ip) => format!("[{ip}]"),
        ip => ip.to_string(),
    };
    match key {
        Some(key) => format!("http://{host}:{}/?key={key}", at.port()),
        None => format!("http://{host}:{}/", at.port()),
    }
}

async fn told_to_stop() {
    if tokio::signal::ctrl_c().await.is_err() {
        // Without a signal to wait for, the process ends as its owner ends it.
        std::future::pending::<()>().await;
    }
    let _ = writeln!(std::io::stderr(), "stopping");
    // A browser that holds an event stream open must not hold up the end.
    tokio::spawn(async {
        tokio::time::sleep(std::time::Duration::from_secs(2)).await;
        std::process::exit(0);
    });
}

fn refused(listen: &Listen, error: &std::io::Error) -> Trouble {
    let remedy = match error.kind() {
        std::io::ErrorKind::AddrInUse => {
            "something listens there already, perhaps these pages: open them, or choose another with --port (0 takes a free one)"
        }
        std::io::ErrorKind::PermissionDenied => "choose a port above 1023 with --port",
        _ => "choose another address with --listen, or another port with --port",
    };
    Trouble::new(
        Kind::Input,
        format!("the pages cannot be served at {}:{}", listen.address, listen.port),
        error.to_string(),
        remedy,
    )
}
