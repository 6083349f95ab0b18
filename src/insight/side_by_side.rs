//! The same work on several things, side by side.

use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Does the same with each thing, on so many threads: whoever is done takes the next one. The results are in the order of the
/// things.
pub(super) fn side_by_side<T: Sync, R: Send>(
    things: &[T],
    threads: usize,
    one: impl Fn(&T) -> R + Sync,
) -> Vec<R> {
    if threads < 2 || things.len() < 2 {
        return things.iter().map(one).collect();
    }
    let next = AtomicUsize::new(0);
    let work = || {
        let numbers = std::iter::from_fn(|| Some(next.fetch_add(1, Ordering::Relaxed)));
        let things = numbers.map_while(|at| Some((at, things.get(at)?)));
        things.map(|(at, thing)| (at, one(thing))).collect::<Vec<(usize, R)>>()
    };
    let mut results: Vec<(usize, R)> = std::thread::scope(|scope| {
        // All begin before the first is waited for.
        let workers: Vec<_> = (0..threads.min(things.len())).map(|_| scope.spawn(work)).collect();
        workers
            .into_iter()
            .flat_map(|worker| worker.join().unwrap_or_else(|panic| resume_unwind(panic)))
            .collect()
    });
    results.sort_by_key(|(at, _)| *at);
    results.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::side_by_side;

    #[test]
    fn results_are_in_the_order_of_the_things_whoever_did_them() {
        let things: Vec<u64> = (0..100).collect();
        let squares: Vec<u64> = things.iter().map(|thing| thing * thing).collect();
        for threads in [0, 1, 2, 7, 200] {
            let slowly = |thing: &u64| {
                std::thread::sleep(std::time::Duration::from_micros(100 - thing));
                thing * thing
            };
            assert_eq!(side_by_side(&things, threads, slowly), squares);
        }
        assert!(side_by_side(&[], 2, |thing: &u64| *thing).is_empty());
    }
}
