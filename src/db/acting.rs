//! On whose behalf a change is made, carried from the door to the transaction.
//!
//! A door says who came through it; [`super::Db::write_now`] finds it here and writes a line of the
//! trail in the same transaction. Verbs need not pass it on, so none can forget it.

use std::cell::RefCell;
use std::future::Future;
use std::pin::Pin;
use std::task::{Context, Poll};

use crate::clock::Moment;

/// By what an actor was recognised.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// A browser's session.
    Page,
    /// An API token.
    Token,
    /// Not at all: nobody was signed in.
    Nobody,
    /// Being at the machine itself: the command line.
    Machine,
}

impl By {
    /// The word for it in the database and in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            By::Page => "page",
            By::Token => "token",
            By::Nobody => "nobody",
            By::Machine => "machine",
        }
    }
}

/// Who makes a change, and through which door.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Acting {
    /// When they came.
    pub at: Moment,
    /// The member, if somebody is recognised.
    pub actor: Option<i64>,
    /// By what they were recognised.
    pub by: By,
    /// The door's method and pattern, such as `POST /bookings/{id}/cancel`.
    pub door: String,
    /// What stands in the pattern's braces, never a secret.
    pub thing: String,
}

/// What a verb adds while it works.
#[derive(Clone, Debug, Default)]
pub(super) struct Notes {
    pub(super) actor: Option<i64>,
    pub(super) owner: Option<i64>,
    pub(super) only_tried: bool,
    pub(super) has_no_line: bool,
}

thread_local! {
    static PRESENT: RefCell<Option<Acting>> = const { RefCell::new(None) };
    static NOTES: RefCell<Notes> = RefCell::default();
}

/// Who acts on this thread now.
pub(super) fn present() -> Option<Acting> {
    PRESENT.with(|p| p.borrow().clone())
}

/// Begins a change: what an earlier one noted is forgotten.
pub(super) fn afresh() {
    NOTES.with(|n| n.replace(Notes::default()));
}

/// What was noted since [`afresh`].
pub(super) fn notes() -> Notes {
    NOTES.with(|n| n.borrow().clone())
}

pub(super) fn note(change: impl FnOnce(&mut Notes)) {
    NOTES.with(|n| change(&mut n.borrow_mut()));
}

/// Puts somebody in place until dropped, then whoever was there before.
struct Turn(Option<Acting>);

impl Turn {
    fn of(acting: Option<Acting>) -> Turn {
        Turn(PRESENT.with(|p| p.replace(acting)))
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        let before = self.0.take();
        PRESENT.with(|p| p.replace(before));
    }
}

/// Does the work on behalf of somebody.
pub fn on_behalf<T>(acting: Option<Acting>, work: impl FnOnce() -> T) -> T {
    let _turn = Turn::of(acting);
    work()
}

/// A future whose every step is taken on behalf of somebody.
pub struct Within<F> {
    acting: Acting,
    future: Pin<Box<F>>,
}

/// Works on behalf of somebody.
pub fn within<F: Future>(acting: Acting, future: F) -> Within<F> {
    Within { acting, future: Box::pin(future) }
}

impl<F: Future> Future for Within<F> {
    type Output = F::Output;

    fn poll(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<F::Output> {
        let _turn = Turn::of(Some(self.acting.clone()));
        self.future.as_mut().poll(cx)
    }
}

/// The same work for another thread, on behalf of whoever acts on this one.
pub fn carried<T>(work: impl FnOnce() -> T) -> impl FnOnce() -> T {
    let acting = present();
    move || on_behalf(acting, work)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn somebody(id: i64) -> Acting {
        let door = "POST /bookings".to_owned();
        Acting { at: Moment(1), actor: Some(id), by: By::Page, door, thing: String::new() }
    }

    #[test]
    fn two_requests_on_one_thread_are_never_taken_for_each_other() {
        let seen = |id: i64| async move {
            let first = present().and_then(|a| a.actor);
            futures_util::future::ready(()).await;
            std::future::poll_fn({
                let mut waited = false;
                move |cx| {
                    if waited {
                        return Poll::Ready(());
                    }
                    waited = true;
                    cx.waker().wake_by_ref();
                    Poll::Pending
                }
            })
            .await;
            assert_eq!((first, present().and_then(|a| a.actor)), (Some(id), Some(id)));
            carried(|| present().and_then(|a| a.actor))
        };
        actix_rt::System::new().block_on(async {
            let (a, b) = futures_util::future::join(
                within(somebody(1), seen(1)),
                within(somebody(2), seen(2)),
            )
            .await;
            assert_eq!(present(), None);
            let there = std::thread::spawn(move || (a(), b())).join().unwrap();
            assert_eq!(there, (Some(1), Some(2)));
        });
    }
}
