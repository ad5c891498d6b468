//! Many photos at once, their results in the order given.
//!
//! # Method
//! 1. A few workers, at most one a core, take the photos in turn. Inside a photo the stages share
//!    all cores anyway; several photos fill what is left while one is decoded or written.
//! 2. Results are handed on in the order of the photos, by the thread that asked: what is printed
//!    doesn't depend on which was ready first.
//! 3. No worker runs ahead of the first unfinished photo by more than a few: results waiting for
//!    their turn stay few, however many photos there are.

use std::collections::BTreeMap;
use std::io;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError, mpsc};
use std::thread;

/// Photos in flight at the most: each takes its pixels several times over.
const MOST_AT_ONCE: usize = 4;
/// How far a worker may run ahead of the first unfinished photo, in workers.
const AHEAD: usize = 3;
/// Stack of a worker, bytes: what the main thread has.
const STACK: usize = 8 << 20;

/// Does `work` for 0 to `count` − 1 and hands the results to `take` in that order.
///
/// Ends with the first error of `take`; what is in flight then is finished and thrown away.
pub(crate) fn in_order<T: Send, E: From<io::Error>>(
    count: usize,
    work: impl Fn(usize) -> T + Sync,
    mut take: impl FnMut(usize, T) -> Result<(), E>,
) -> Result<(), E> {
    let workers = rayon::current_num_threads().min(MOST_AT_ONCE).min(count);
    if workers < 2 {
        return (0..count).try_for_each(|index| take(index, work(index)));
    }
    let turns = Turns::new(count, workers * AHEAD);
    thread::scope(|scope| {
        let (send, results) = mpsc::channel();
        for _ in 0..workers {
            let (send, turns, work) = (send.clone(), &turns, &work);
            let worker = move || {
                while let Some(index) = turns.next() {
                    if send.send((index, work(index))).is_err() {
                        break;
                    }
                }
            };
            let builder = thread::Builder::new().stack_size(STACK);
            if let Err(error) = builder.spawn_scoped(scope, worker) {
                turns.stop();
                return Err(error.into());
            }
        }
        drop(send);
        let mut waiting = BTreeMap::new();
        let mut due = 0;
        for (index, result) in results {
            waiting.insert(index, result);
            while let Some(result) = waiting.remove(&due) {
                if let Err(error) = take(due, result) {
                    turns.stop();
                    return Err(error);
                }
                due += 1;
                turns.taken();
            }
        }
        Ok(())
    })
}

/// Whose turn it is.
struct Turns {
    count: usize,
    ahead: usize,
    state: Mutex<State>,
    changed: Condvar,
}

#[derive(Default)]
struct State {
    /// The next to be started.
    next: usize,
    /// Results that were taken.
    taken: usize,
    stopped: bool,
}

impl Turns {
    fn new(count: usize, ahead: usize) -> Self {
        Self {
            count,
            ahead,
            state: Mutex::default(),
            changed: Condvar::new(),
        }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The next to work on, once it isn't too far ahead; `None` when there is none.
    fn next(&self) -> Option<usize> {
        let mut state = self.state();
        while !state.stopped && state.next < self.count && state.next >= state.taken + self.ahead {
            state = self
                .changed
                .wait(state)
                .unwrap_or_else(PoisonError::into_inner);
        }
        if state.stopped || state.next >= self.count {
            return None;
        }
        state.next += 1;
        Some(state.next - 1)
    }

    fn taken(&self) {
        self.state().taken += 1;
        self.changed.notify_all();
    }

    fn stop(&self) {
        self.state().stopped = true;
        self.changed.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Duration;

    use super::*;

    #[test]
    fn results_come_in_order_however_long_each_takes() {
        let mut seen = Vec::new();
        let work = |index: usize| {
            thread::sleep(Duration::from_millis(if index.is_multiple_of(5) {
                12
            } else {
                1
            }));
            index * index
        };
        let take = |index, result| {
            seen.push((index, result));
            io::Result::Ok(())
        };
        in_order(40, work, take).expect("nothing fails");
        let expected: Vec<_> = (0..40).map(|index| (index, index * index)).collect();
        assert_eq!(seen, expected);
    }

    #[test]
    fn nobody_runs_far_ahead_of_a_slow_first_one() {
        let turns = Turns::new(100, 6);
        let begun: Vec<_> = (0..6).map(|_| turns.next()).collect();
        assert_eq!(begun.last(), Some(&Some(5)));
        let started = AtomicUsize::new(0);
        thread::scope(|scope| {
            scope.spawn(|| started.store(turns.next().unwrap_or(0), Ordering::SeqCst));
            thread::sleep(Duration::from_millis(30));
            assert_eq!(started.load(Ordering::SeqCst), 0, "it waits");
            turns.taken();
        });
        assert_eq!(started.load(Ordering::SeqCst), 6);
    }

    #[test]
    fn the_first_error_ends_the_work() {
        let begun = AtomicUsize::new(0);
        let result = in_order(
            10_000,
            |_| begun.fetch_add(1, Ordering::SeqCst),
            |index, _| match index {
                3 => Err(io::Error::other("enough")),
                _ => Ok(()),
            },
        );
        assert!(result.is_err());
        assert!(begun.load(Ordering::SeqCst) < 100);
    }
}
