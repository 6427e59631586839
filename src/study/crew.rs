//! Work shared among threads and handed on in the order of the input, with no more in hand than a window.
//!
//! Each piece of work knows nothing of another, so the answers are the same for any number of threads.

use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

/// Pieces that may be in hand for each thread: enough that a slow piece holds nobody up, little enough to stay small.
const IN_HAND: usize = 32;

/// What all threads share.
struct Board<T> {
    next: usize,
    done: BTreeMap<usize, T>,
    handed_on: usize,
    stopped: bool,
}

struct Shared<T> {
    board: Mutex<Board<T>>,
    changed: Condvar,
}

impl<T> Shared<T> {
    fn board(&self) -> MutexGuard<'_, Board<T>> {
        self.board.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn wait<'a>(&self, board: MutexGuard<'a, Board<T>>) -> MutexGuard<'a, Board<T>> {
        self.changed
            .wait(board)
            .unwrap_or_else(PoisonError::into_inner)
    }
}

/// Stops everybody when a worker leaves in an unforeseen way, so that nobody waits for ever.
struct Leaving<'a, T>(&'a Shared<T>);

impl<T> Drop for Leaving<'_, T> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.0.board().stopped = true;
            self.0.changed.notify_all();
        }
    }
}

/// The threads that this machine runs at once.
pub(super) fn all_threads() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Does the pieces `0..count` on so many threads; `worker` makes what one thread works with, `sink` gets the answers in
/// order and may stop the work. Returns how many answers were handed on.
pub(super) fn work<T: Send, W>(
    count: usize,
    threads: usize,
    worker: impl Fn() -> W + Sync,
    piece: impl Fn(&mut W, usize) -> T + Sync,
    sink: &mut dyn FnMut(T) -> ControlFlow<()>,
) -> usize {
    let threads = threads.clamp(1, count.max(1));
    let window = threads * IN_HAND;
    let shared = Shared {
        board: Mutex::new(Board {
            next: 0,
            done: BTreeMap::new(),
            handed_on: 0,
            stopped: false,
        }),
        changed: Condvar::new(),
    };
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                let _leaving = Leaving(&shared);
                let mut own = worker();
                loop {
                    let mut board = shared.board();
                    while !board.stopped
                        && board.next < count
                        && board.next >= board.handed_on + window
                    {
                        board = shared.wait(board);
                    }
                    if board.stopped || board.next >= count {
                        return;
                    }
                    let k = board.next;
                    board.next += 1;
                    drop(board);
                    let answer = piece(&mut own, k);
                    shared.board().done.insert(k, answer);
                    shared.changed.notify_all();
                }
            });
        }
        let mut handed_on = 0;
        while handed_on < count {
            let mut board = shared.board();
            let answer = loop {
                if let Some(answer) = board.done.remove(&handed_on) {
                    break Some(answer);
                }
                if board.stopped {
                    break None;
                }
                board = shared.wait(board);
            };
            board.handed_on = handed_on + 1;
            drop(board);
            shared.changed.notify_all();
            let Some(answer) = answer else { break };
            let flow = sink(answer);
            handed_on += 1;
            if flow.is_break() {
                shared.board().stopped = true;
                shared.changed.notify_all();
                break;
            }
        }
        handed_on
    })
}

/// Answers to items in their order, worked out on all threads, this one among them. No answer may hang on another, so that
/// they are the same for any number of threads.
///
/// ```
/// let squares = loopwright::study::on_all_threads(&[1, 2, 3], |k| k * k);
/// assert_eq!(squares, [1, 4, 9]);
/// ```
pub fn on_all_threads<I: Sync, T: Send>(items: &[I], answer: impl Fn(&I) -> T + Sync) -> Vec<T> {
    share_out(items, || (), |(), item| answer(item))
}

/// Answers to items in their order, worked out on all threads, this one among them; the first items are begun first. For a few
/// long items that are all kept; for a stream of them there is [`work`].
pub(super) fn share_out<I: Sync, T: Send, W>(
    items: &[I],
    worker: impl Fn() -> W + Sync,
    answer: impl Fn(&mut W, &I) -> T + Sync,
) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let work = || {
        let mut own = worker();
        let mut answers = Vec::new();
        loop {
            let k = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(k) else {
                return answers;
            };
            answers.push((k, answer(&mut own, item)));
        }
    };
    let mut answers = std::thread::scope(|scope| {
        let threads = all_threads().min(items.len());
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(work)).collect();
        let mut answers = work();
        for other in others {
            match other.join() {
                Ok(more) => answers.extend(more),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        answers
    });
    answers.sort_by_key(|(k, _)| *k);
    answers.into_iter().map(|(_, answer)| answer).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn items_are_answered_in_their_order() {
        let items: Vec<u64> = (0..300).collect();
        let made = AtomicUsize::new(0);
        let squares = share_out(
            &items,
            || made.fetch_add(1, Ordering::Relaxed),
            |_, k| k * k,
        );
        assert_eq!(squares, items.iter().map(|k| k * k).collect::<Vec<_>>());
        assert!((1..=all_threads()).contains(&made.into_inner()));
        let none = share_out(&[0_u8; 0], || (), |(), k| *k);
        assert!(none.is_empty());
    }

    #[test]
    fn answers_come_in_order_whatever_the_number_of_threads() {
        for threads in [1, 2, 4, 9] {
            let mut seen = Vec::new();
            let slow = |k: usize| {
                // Some pieces take longer than others.
                let mut x = k as u64;
                for _ in 0..(k % 7) * 2000 {
                    x = x.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                }
                (k, x)
            };
            let done = work(500, threads, || (), |(), k| slow(k), &mut |answer| {
                seen.push(answer);
                ControlFlow::Continue(())
            });
            assert_eq!(done, 500);
            let wanted: Vec<_> = (0..500).map(slow).collect();
            assert_eq!(seen, wanted, "{threads} threads");
        }
    }

    #[test]
    fn the_sink_stops_the_work_and_nobody_runs_far_ahead() {
        let begun = Mutex::new(0_usize);
        let mut handed_on = 0;
        let piece = |(): &mut (), k: usize| {
            let mut most = begun.lock().expect("no panic");
            *most = (*most).max(k);
        };
        let done = work(1_000_000, 2, || (), piece, &mut |()| {
            handed_on += 1;
            if handed_on == 10 {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        });
        assert_eq!((done, handed_on), (10, 10));
        assert!(*begun.lock().expect("no panic") <= 10 + 2 * IN_HAND);
    }

    #[test]
    fn no_work_is_done_at_once() {
        assert_eq!(
            work(0, 4, || (), |(), k| k, &mut |_| ControlFlow::Continue(())),
            0
        );
    }
}
