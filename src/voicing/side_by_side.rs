//! Work on several pieces at a time. This is the one place of the library that starts threads.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Does something to every item, on so many threads at the most. Items know nothing of each other,
/// so the outcome is the same whatever the threads.
pub fn for_each<T: Send>(items: &mut [T], threads: usize, work: impl Fn(&mut T) + Sync) {
    let threads = threads.min(items.len());
    if threads < 2 {
        items.iter_mut().for_each(work);
        return;
    }
    let next = AtomicUsize::new(0);
    let places: Vec<Mutex<&mut T>> = items.iter_mut().map(Mutex::new).collect();
    let run = || {
        while let Some(place) = places.get(next.fetch_add(1, Ordering::Relaxed)) {
            if let Ok(mut item) = place.lock() {
                work(&mut item);
            }
        }
    };
    std::thread::scope(|scope| {
        for _ in 1..threads {
            scope.spawn(run);
        }
        run();
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_item_is_worked_on_once() {
        for threads in 0..5 {
            let mut items: Vec<u32> = (0..100).collect();
            for_each(&mut items, threads, |i| *i += 1);
            assert_eq!(items, (1..101).collect::<Vec<u32>>());
        }
    }
}
