//! What takes longer than a page may? Work that goes on beside, tells how far it is, and can be given up.

use std::collections::VecDeque;
use std::convert::Infallible;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use axum::response::sse::{Event, KeepAlive, Sse};
use maud::Markup;
use tokio::sync::watch;
use tokio_stream::StreamExt as _;
use tokio_stream::wrappers::ReceiverStream;

use crate::tell::Trouble;
use crate::web::ask::random_key;

/// Finished work that is still shown when somebody comes back to it.
const KEPT: usize = 16;

/// How far a piece of work is.
#[derive(Debug, Clone, Default)]
pub(crate) struct Stand {
    /// Share done, 0 to 1.
    pub(crate) share: f64,
    /// What is going on, or what came of it, in a few words.
    pub(crate) words: String,
    /// Whether it ended.
    pub(crate) ended: bool,
}

/// A piece of work.
pub(crate) struct Job {
    /// Its name in addresses; nobody guesses it.
    pub(crate) id: String,
    /// What it is, for the page's title.
    pub(crate) title: String,
    /// Page that it belongs to.
    pub(crate) back: String,
    stand: watch::Sender<Stand>,
    given_up: AtomicBool,
    outcome: Mutex<Option<Result<Markup, Trouble>>>,
}

impl Job {
    /// Tells how far it is; false where it was given up and should end.
    pub(crate) fn go_on(&self, share: f64, words: String) -> bool {
        self.stand.send_replace(Stand { share, words, ended: false });
        !self.given_up.load(Ordering::Relaxed)
    }

    /// Gives it up.
    pub(crate) fn give_up(&self) {
        self.given_up.store(true, Ordering::Relaxed);
    }

    /// How far it is.
    pub(crate) fn stand(&self) -> Stand {
        self.stand.borrow().clone()
    }

    /// What came of it; none while it goes on.
    pub(crate) fn outcome(&self) -> Option<Result<Markup, Trouble>> {
        self.outcome.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Its progress as events, from now to its end: `progress` with the share in percent and words, then `ended`.
    pub(crate) fn events(
        self: &Arc<Self>,
    ) -> Sse<impl tokio_stream::Stream<Item = Result<Event, Infallible>> + use<>> {
        let mut watch = self.stand.subscribe();
        watch.mark_changed();
        let (send, receive) = tokio::sync::mpsc::channel(4);
        tokio::spawn(async move {
            while watch.changed().await.is_ok() {
                let stand = watch.borrow_and_update().clone();
                let name = if stand.ended { "ended" } else { "progress" };
                let text = format!("{:.0} {}", 100.0 * stand.share, stand.words.replace(['\n', '\r'], " "));
                if send.send(Event::default().event(name).data(text)).await.is_err() || stand.ended {
                    return;
                }
                // No screen shows more than that, and no browser should have to.
                tokio::time::sleep(std::time::Duration::from_millis(80)).await;
            }
        });
        Sse::new(ReceiverStream::new(receive).map(Ok)).keep_alive(KeepAlive::default())
    }
}

/// All work of this run of the program.
#[derive(Default)]
pub(crate) struct Jobs {
    all: Mutex<VecDeque<Arc<Job>>>,
}

impl Jobs {
    /// Starts a piece of work in a thread of its own.
    pub(crate) fn start<F>(&self, title: &str, back: &str, work: F) -> Arc<Job>
    where
        F: FnOnce(&Job) -> Result<Markup, Trouble> + Send + 'static,
    {
        let job = Arc::new(Job {
            id: random_key(),
            title: title.to_owned(),
            back: back.to_owned(),
            stand: watch::channel(Stand::default()).0,
            given_up: AtomicBool::new(false),
            outcome: Mutex::new(None),
        });
        let mut all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        while all.len() >= KEPT {
            if let Some(oldest) = all.pop_front() {
                oldest.give_up();
            }
        }
        all.push_back(Arc::clone(&job));
        drop(all);
        let doing = Arc::clone(&job);
        std::thread::spawn(move || {
            let made = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| work(&doing)));
            let outcome = made.unwrap_or_else(|_| {
                Err(Trouble::new(
                    crate::tell::Kind::Fault,
                    "the work was not finished",
                    "a fault inside the program; what is kept in the hangar is not touched by it",
                    "start it again; the terminal in which the pages run says more",
                ))
            });
            *doing.outcome.lock().unwrap_or_else(PoisonError::into_inner) = Some(outcome);
            let share = doing.stand().share;
            doing.stand.send_replace(Stand { share, words: String::new(), ended: true });
        });
        job
    }

    /// A piece of work by its id.
    pub(crate) fn get(&self, id: &str) -> Option<Arc<Job>> {
        self.all.lock().unwrap_or_else(PoisonError::into_inner).iter().find(|j| j.id == id).cloned()
    }
}
