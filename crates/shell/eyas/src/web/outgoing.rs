//! How does something large leave? Piece by piece from the disk, never all of it in memory; what it lay in is gone when it
//! is through.

use std::fs::File;
use std::io::{self, Read as _, Write};
use std::path::Path;

use axum::body::{Body, Bytes};
use axum::http::HeaderValue;
use axum::http::header::CONTENT_LENGTH;
use tempfile::TempDir;
use tokio::sync::mpsc::Sender;
use tokio_stream::wrappers::ReceiverStream;

use crate::tell::{Kind, Trouble};
use crate::web::reply::{self, Reply};

/// Bytes of a piece.
const PIECE: usize = 256 << 10;

/// A folder of its own for something that goes out at once.
///
/// # Errors
/// A disk on which nothing can be made.
pub(crate) fn folder() -> Result<TempDir, Trouble> {
    tempfile::tempdir().map_err(|e| disk(&e))
}

/// Sends a file that lies in a folder of its own; the folder goes when the last piece is sent.
///
/// # Errors
/// A file that cannot be read.
pub(crate) fn file(name: &str, kind: &'static str, path: &Path, folder: TempDir) -> Result<Reply, Trouble> {
    let mut from = File::open(path).map_err(|e| disk(&e))?;
    let length = from.metadata().map_err(|e| disk(&e))?.len();
    let mut response = written(name, kind, move |out| {
        let mut piece = vec![0; PIECE];
        loop {
            let read = from.read(&mut piece)?;
            if read == 0 {
                break;
            }
            out.write_all(piece.get(..read).unwrap_or_default())?;
        }
        drop(folder);
        Ok(())
    });
    if let Ok(length) = HeaderValue::from_str(&length.to_string()) {
        response.headers_mut().insert(CONTENT_LENGTH, length);
    }
    Ok(response)
}

/// Sends what is written while it is sent. Where writing fails the connection breaks, so that no half file looks whole.
pub(crate) fn written<F>(name: &str, kind: &'static str, write: F) -> Reply
where
    F: FnOnce(&mut dyn Write) -> io::Result<()> + Send + 'static,
{
    let (send, receive) = tokio::sync::mpsc::channel::<io::Result<Bytes>>(4);
    tokio::task::spawn_blocking(move || {
        let mut pieces = Pieces { send: send.clone(), held: Vec::with_capacity(PIECE) };
        let done = write(&mut pieces).and_then(|()| pieces.flush());
        if let Err(error) = done {
            // Where the browser went away nobody is told.
            let _ = send.blocking_send(Err(error));
        }
    });
    let mut response = reply::file(name, kind, Vec::new());
    response.headers_mut().remove(CONTENT_LENGTH);
    *response.body_mut() = Body::from_stream(ReceiverStream::new(receive));
    response
}

/// Gathers what is written into pieces and sends them.
struct Pieces {
    send: Sender<io::Result<Bytes>>,
    held: Vec<u8>,
}

impl Write for Pieces {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.held.extend_from_slice(bytes);
        if self.held.len() >= PIECE {
            self.flush()?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.held.is_empty() {
            return Ok(());
        }
        let piece = Bytes::from(std::mem::replace(&mut self.held, Vec::with_capacity(PIECE)));
        self.send.blocking_send(Ok(piece)).map_err(|_| io::Error::from(io::ErrorKind::BrokenPipe))
    }
}

fn disk(error: &io::Error) -> Trouble {
    Trouble::new(
        Kind::Input,
        "it could not be made ready to be sent",
        format!("in {}: {error}", std::env::temp_dir().display()),
        "make room on that disk, or name another folder with TMPDIR when starting `eyas serve`",
    )
}
