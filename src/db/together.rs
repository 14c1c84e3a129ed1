//! A question that every request asks, asked together: whoever comes while it is being answered
//! waits for that, and is answered by the next one with all who came meanwhile. Nobody is answered
//! by a question that was asked before they came.

use std::sync::Arc;
use std::time::{Duration, Instant};

use actix_web::rt::task::spawn_blocking;
use actix_web::rt::time::timeout;
use parking_lot::Mutex;
use tokio::sync::oneshot;

use super::{Conn, Db};
use crate::error::Error;

/// Whoever is away with the question for so long keeps nobody else from going.
const AWAY: Duration = Duration::from_millis(50);
/// After so long nobody waits for those who went: a connection may hang, and others stand.
const PATIENCE: Duration = Duration::from_millis(200);

/// One question for all who ask it at about the same moment.
pub struct Together<V>(Arc<Round<V>>);

struct Round<V> {
    ask: fn(&mut Conn) -> Result<V, Error>,
    queue: Mutex<Queue<V>>,
}

struct Queue<V> {
    waiting: Vec<oneshot::Sender<V>>,
    /// When somebody last went with the question, if nobody has come back since.
    away: Option<Instant>,
}

impl<V: Clone + Send + 'static> Together<V> {
    /// For this question.
    #[must_use]
    pub fn new(ask: fn(&mut Conn) -> Result<V, Error>) -> Together<V> {
        let queue = Mutex::new(Queue { waiting: Vec::new(), away: None });
        Together(Arc::new(Round { ask, queue }))
    }

    /// The answer. On SQLite one asks where one stands, which takes less than waiting for others.
    ///
    /// # Errors
    /// As [`Db::read`].
    pub async fn ask(&self, db: &Db) -> Result<V, Error> {
        let told = if db.engine().is_sqlite() { None } else { self.wait(db).await };
        match told {
            Some(told) => Ok(told),
            // No connection was at hand, or the question failed or hangs: each asks alone.
            None => db.glance(self.0.ask).await,
        }
    }

    async fn wait(&self, db: &Db) -> Option<V> {
        let (tell, told) = oneshot::channel();
        if self.0.comes(tell) {
            let (db, round) = (db.clone(), self.0.clone());
            // Whoever waits hears of it in their own way.
            drop(spawn_blocking(move || round.go(&db)));
        }
        timeout(PATIENCE, told).await.ok()?.ok()
    }
}

impl<V: Clone> Round<V> {
    /// Another one waits; whether somebody must go now.
    fn comes(&self, tell: oneshot::Sender<V>) -> bool {
        let mut queue = self.queue.lock();
        queue.waiting.push(tell);
        let goes = queue.away.is_none_or(|since| since.elapsed() > AWAY);
        if goes {
            queue.away = Some(Instant::now());
        }
        goes
    }

    /// Asks for all who wait, and again for all who came meanwhile.
    fn go(&self, db: &Db) {
        let Some(mut conn) = db.readers.try_get() else { return self.leave() };
        loop {
            let all = self.next();
            if all.is_empty() {
                return;
            }
            let Ok(answer) = (self.ask)(&mut conn) else { return self.leave() };
            for tell in all {
                // One who went away needs no answer.
                let _ = tell.send(answer.clone());
            }
        }
    }

    /// All who wait now.
    fn next(&self) -> Vec<oneshot::Sender<V>> {
        let mut queue = self.queue.lock();
        queue.away = (!queue.waiting.is_empty()).then(Instant::now);
        std::mem::take(&mut queue.waiting)
    }

    /// Leaves all who wait to ask alone, which they do when nobody can tell them anything more.
    fn leave(&self) {
        let mut queue = self.queue.lock();
        queue.away = None;
        queue.waiting.clear();
    }
}
