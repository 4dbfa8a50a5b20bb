//! Waiting for an answer, but not for ever.

use std::pin::pin;
use std::sync::Arc;
use std::task::{Context, Poll, Wake, Waker};
use std::thread::{self, Thread};
use std::time::{Duration, Instant};

/// Waits for something on this thread, but no longer than `most`.
pub fn wait<T>(future: impl Future<Output = T>, most: Duration) -> Option<T> {
    let waker = Waker::from(Arc::new(Unpark(thread::current())));
    let mut future = pin!(future);
    let until = Instant::now() + most;
    loop {
        if let Poll::Ready(done) = future.as_mut().poll(&mut Context::from_waker(&waker)) {
            return Some(done);
        }
        let left = until.checked_duration_since(Instant::now())?;
        thread::park_timeout(left);
    }
}

/// Wakes a thread that waits.
struct Unpark(Thread);

impl Wake for Unpark {
    fn wake(self: Arc<Self>) {
        self.0.unpark();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::future::{pending, poll_fn, ready};

    #[test]
    fn what_is_there_is_had_and_what_never_comes_is_given_up() {
        assert_eq!(wait(ready(7), Duration::ZERO), Some(7));
        assert_eq!(wait(pending::<u8>(), Duration::ZERO), None);
        assert_eq!(wait(pending::<u8>(), Duration::from_millis(5)), None);
    }

    #[test]
    fn what_comes_from_another_thread_wakes_the_wait() {
        let mut asked = false;
        let later = poll_fn(move |context| {
            if asked {
                return Poll::Ready("there");
            }
            asked = true;
            let waker = context.waker().clone();
            thread::spawn(move || waker.wake());
            Poll::Pending
        });
        assert_eq!(wait(later, Duration::from_secs(600)), Some("there"));
    }
}
