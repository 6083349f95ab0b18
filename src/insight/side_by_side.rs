//! The same work on several things, side by side.

use std::panic::resume_unwind;

/// Does the same with each thing, on so many threads; the results are in the order of the things.
pub(super) fn side_by_side<T: Sync, R: Send>(
    things: &[T],
    threads: usize,
    one: impl Fn(&T) -> R + Sync,
) -> Vec<R> {
    if threads < 2 || things.len() < 2 {
        return things.iter().map(one).collect();
    }
    let share = things.len().div_ceil(threads);
    std::thread::scope(|scope| {
        let one = &one;
        let parts = things.chunks(share);
        let parts = parts.map(|part| scope.spawn(move || part.iter().map(one).collect::<Vec<_>>()));
        // All begin before the first is waited for.
        let parts: Vec<_> = parts.collect();
        let results = parts.into_iter().map(|part| part.join().unwrap_or_else(|panic| resume_unwind(panic)));
        results.flatten().collect()
    })
}
