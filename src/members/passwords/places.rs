//! Where passwords are worked on: two places, each with its own memory.
//!
//! The memory is kept between tries. Taken anew for each, it came from whatever the thread had
//! left, and how long that took followed the order of the tries: enough to tell, over many, which
//! addresses are known.

use std::time::{Duration, Instant};

use argon2::Block;
use parking_lot::{Condvar, Mutex};

use crate::error::Error;

/// At most this many at a time: each takes 19 MiB and a whole processor.
const AT_ONCE: usize = 2;
/// At most this many more may wait; whoever comes then is told that the house is busy.
const WAITING: u32 = 40;
/// How long one waits for a place.
const PATIENCE: Duration = Duration::from_secs(15);
/// Memory that nobody used for so long goes back to the machine.
const KEPT_FOR: Duration = Duration::from_secs(60);
/// Room for so many blocks of 1 KiB is asked for, though fewer are touched: above 32 MiB the
/// usual allocators map memory of its own and give all of it back when it is freed.
const ASKED_FOR: usize = 33 * 1024;

struct Queue {
    working: usize,
    waiting: u32,
    /// Memory at rest, the last used at the end, and when that was.
    rested: Vec<(Vec<Block>, Instant)>,
}

static QUEUE: Mutex<Queue> = Mutex::new(Queue { working: 0, waiting: 0, rested: Vec::new() });
static FREED: Condvar = Condvar::new();

/// One of the two places, until dropped.
pub(super) struct Place(Vec<Block>);

impl Place {
    /// Waits for a place.
    ///
    /// # Errors
    /// [`Error::Busy`] when too many wait already or none becomes free in time.
    pub(super) fn wait() -> Result<Place, Error> {
        let mut queue = QUEUE.lock();
        if queue.waiting >= WAITING {
            return Err(Error::Busy);
        }
        queue.waiting += 1;
        let waited = FREED.wait_while_for(&mut queue, |q| q.working >= AT_ONCE, PATIENCE);
        queue.waiting -= 1;
        if waited.timed_out() && queue.working >= AT_ONCE {
            return Err(Error::Busy);
        }
        queue.working += 1;
        let memory = queue.rested.pop().map(|(memory, _)| memory);
        drop(queue);
        Ok(Place(memory.unwrap_or_else(|| Vec::with_capacity(ASKED_FOR))))
    }

    /// Memory of at least so many blocks.
    pub(super) fn memory(&mut self, blocks: usize) -> &mut [Block] {
        if self.0.len() < blocks {
            self.0.resize(blocks, Block::default());
        }
        &mut self.0
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut queue = QUEUE.lock();
        queue.working -= 1;
        queue.rested.push((std::mem::take(&mut self.0), Instant::now()));
        FREED.notify_one();
    }
}

/// Gives memory back that was not used lately.
pub(super) fn tidy() {
    QUEUE.lock().rested.retain(|(_, since)| since.elapsed() < KEPT_FOR);
}
