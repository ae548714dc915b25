//! A warm idle steps without touching the heap: what it needs, it holds from the start.
//!
//! A counting allocator stands before the system's. It counts by thread, so tests beside this one do not
//! disturb it, and keeps the call stack of the first allocation it was armed for.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]
#![allow(unsafe_code, reason = "a global allocator can be written no other way; this one only counts")]

use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Key, Load};
use idlewright::bench::pattern::Name;
use idlewright::bench::setup::Setup;
use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::{Cell, RefCell};

struct Counting;

thread_local! {
    static ARMED: Cell<bool> = const { Cell::new(false) };
    static COUNT: Cell<u64> = const { Cell::new(0) };
    static FIRST: RefCell<Option<String>> = const { RefCell::new(None) };
}

fn count() {
    // a thread that is ending has no counters any more, and nothing to count
    let armed = ARMED.try_with(|a| a.replace(false)).unwrap_or(false);
    if !armed {
        return;
    }
    let n = COUNT.with(|c| {
        c.set(c.get() + 1);
        c.get()
    });
    if n == 1 {
        // disarmed meanwhile, so that this may allocate itself
        let stack = std::backtrace::Backtrace::force_capture().to_string();
        FIRST.with(|f| *f.borrow_mut() = Some(stack));
    }
    ARMED.with(|a| a.set(true));
}

// SAFETY: every call is handed on to the system's allocator unchanged; counting touches no block.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count();
        // SAFETY: the caller's promises are handed on.
        unsafe { System.alloc(layout) }
    }
    unsafe fn alloc_zeroed(&self, layout: Layout) -> *mut u8 {
        count();
        // SAFETY: the caller's promises are handed on.
        unsafe { System.alloc_zeroed(layout) }
    }
    unsafe fn realloc(&self, block: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        count();
        // SAFETY: the caller's promises are handed on.
        unsafe { System.realloc(block, layout, size) }
    }
    unsafe fn dealloc(&self, block: *mut u8, layout: Layout) {
        // SAFETY: the caller's promises are handed on.
        unsafe { System.dealloc(block, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

/// Allocations of this thread while `f` runs, and the call stack of the first.
fn allocations<T>(f: impl FnOnce() -> T) -> (T, u64, String) {
    COUNT.with(|c| c.set(0));
    FIRST.with(|f| f.borrow_mut().take());
    ARMED.with(|a| a.set(true));
    let out = f();
    ARMED.with(|a| a.set(false));
    (out, COUNT.with(Cell::get), FIRST.with(|f| f.borrow_mut().take()).unwrap_or_default())
}

/// A warm engine that has idled for a minute.
fn warm_idle() -> Bench {
    let setup = Setup::healthy(include_str!("../assets/cars/plover.toml"), 1, 88.0);
    let mut b = Bench::standing(&setup).expect("a bench");
    let _ = b.act("", Action::Key(Key::On));
    b.advance_by(2.0);
    let _ = b.act("", Action::Key(Key::Crank));
    b.advance_by(60.0);
    assert!(b.observe().live.idling, "a warm idle");
    b
}

#[test]
fn holds_a_warm_idle_allocates_nothing() {
    let mut b = warm_idle();
    let ((), n, first) = allocations(|| b.advance_by(20.0));
    assert_eq!(n, 0, "{n} allocations in 20 s of warm idle, the first here:\n{first}");
}

#[test]
fn holds_a_loaded_idle_allocates_nothing() {
    let mut b = warm_idle();
    for load in [Load::Compressor, Load::Lamps, Load::Steering] {
        let _ = b.act("", Action::Load(load, true));
    }
    b.advance_by(5.0);
    let ((), n, first) = allocations(|| b.advance_by(20.0));
    assert_eq!(n, 0, "{n} allocations in 20 s of loaded idle, the first here:\n{first}");
}

#[test]
fn holds_driving_allocates_nothing() {
    let mut b = warm_idle();
    let _ = b.act("", Action::Drive { pattern: Name::Motorway, minutes: 10.0 });
    // by then every monitor of the module has come to its first verdict of the trip; downhill and up again
    b.advance_by(300.0);
    let ((), n, first) = allocations(|| b.advance_by(80.0));
    assert!(b.driver().is_some() && b.observe().live.road_km_h > 90.0, "it is on the road");
    assert_eq!(n, 0, "{n} allocations in 80 s of driving, the first here:\n{first}");
}

/// The guard: the counter counts, says where, and stays quiet while it is not armed.
#[test]
fn trips_when_something_allocates() {
    let (_, n, first) = allocations(|| std::hint::black_box(vec![1u8; 100]));
    assert_eq!(n, 1);
    assert!(first.contains("trips_when_something_allocates"), "{first}");
    let (_, n, _) = allocations(|| {
        let mut v = std::hint::black_box(Vec::with_capacity(1));
        v.extend([1u64; 50]);
        v
    });
    assert!(n >= 2, "growing counts too: {n}");
    let ((), n, first) = allocations(|| ());
    assert_eq!((n, first.as_str()), (0, ""));
}
