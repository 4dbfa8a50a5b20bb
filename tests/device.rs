//! The sound device: what it says where there is none, and what it does with a server of its protocol.

mod server;

use bandwright::device::NoDevice;
use bandwright::device::pulse::{Server, open_at};
use server::{Told, Ways, listening, serve};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

const REST: &str = "everything else works, and `bandwright listen --wav` makes a sound file";

fn refusal(server: &Server) -> NoDevice {
    open_at(server, "test", |_: &mut [f32]| ()).unwrap_err()
}

/// Waits until something holds; a test that waits for ever fails.
fn until(what: &str, holds: impl Fn() -> bool) {
    for _ in 0..60_000 {
        if holds() {
            return;
        }
        std::thread::sleep(Duration::from_millis(1));
    }
    panic!("waited in vain: {what}");
}

fn ways() -> Ways {
    Ways {
        device: "speakers",
        willing: true,
        frames: 2_000,
        told: vec![Told {
            read: 0,
            held_micros: 0,
            plays: true,
            playing_for: 0,
        }],
        leaves_after: usize::MAX,
    }
}

#[test]
fn without_a_server_one_sentence_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let patience = Duration::from_secs(60);
    for socket in [None, Some(folder.path().join("native"))] {
        let cookie = None;
        let why = refusal(&Server {
            socket,
            cookie,
            patience,
        });
        assert_eq!(
            why.to_string(),
            format!("no sound: this machine offers no sound output; {REST}")
        );
    }
}

#[test]
fn a_server_that_was_killed_leaves_a_socket_that_nobody_answers() {
    let (_folder, listener, server) = listening();
    drop(listener);
    assert!(matches!(refusal(&server), NoDevice::Nothing));
}

#[test]
fn a_server_that_hangs_is_not_waited_for_for_ever() {
    let (_folder, _listener, mut server) = listening();
    server.patience = Duration::from_millis(50);
    assert_eq!(
        refusal(&server).to_string(),
        format!("no sound: this machine's sound output does not answer; {REST}")
    );
}

#[test]
fn a_server_that_hangs_up_is_named() {
    let (_folder, listener, server) = listening();
    let accepting = std::thread::spawn(move || drop(listener.accept().unwrap()));
    let why = refusal(&server).to_string();
    accepting.join().unwrap();
    assert!(
        why.starts_with("no sound: this machine's sound output refused ("),
        "{why}"
    );
    assert!(why.ends_with(REST) && !why.contains('\n'), "{why}");
}

#[test]
fn a_server_that_plays_to_nobody_is_no_device() {
    let refusal_of = |device| {
        let (_folder, server, seen) = serve(Ways { device, ..ways() });
        let why = refusal(&server).to_string();
        assert!(seen.recv().unwrap().params.is_none());
        why
    };
    assert_eq!(
        refusal_of("auto_null"),
        format!(
            "no sound: neither speakers nor headphones are connected; connect some and play again; {REST}"
        )
    );
    assert_eq!(
        refusal_of(""),
        format!("no sound: this machine offers no sound output; {REST}")
    );
}

#[test]
fn a_server_that_makes_no_stream_says_why() {
    let (_folder, server, seen) = serve(Ways {
        willing: false,
        ..ways()
    });
    let why = refusal(&server).to_string();
    assert!(
        why.contains("refused (") && why.to_lowercase().contains("busy"),
        "{why}"
    );
    assert!(seen.recv().unwrap().samples.is_empty());
}

#[test]
fn the_server_gets_the_samples_and_the_stream_ends_with_the_output() {
    let (_folder, server, seen) = serve(ways());
    let given = Arc::new(AtomicU64::new(0));
    let count = Arc::clone(&given);
    let output = open_at(&server, "te\0st", move |out: &mut [f32]| {
        for sample in out {
            *sample = count.fetch_add(1, Ordering::Relaxed) as f32;
        }
    })
    .unwrap();
    until("all is asked for", || {
        given.load(Ordering::Relaxed) == 4_000
    });
    until("something is told", || output.heard().is_some());
    assert!(output.is_open());
    assert!(output.latency().is_some_and(|l| l >= 0.0));
    drop(output);
    // It comes when the client has hung up.
    let seen = seen.recv().unwrap();
    assert_eq!(seen.cookie.len(), 256);
    let sent: Vec<f32> = seen
        .samples
        .chunks_exact(4)
        .map(|b| f32::from_le_bytes(b.try_into().unwrap()))
        .collect();
    assert_eq!(sent, (0..4_000_u16).map(f32::from).collect::<Vec<_>>());
    let params = seen.params.unwrap();
    assert_eq!(
        (params.sample_spec.sample_rate, params.sample_spec.channels),
        (44_100, 2)
    );
    // 25 ms, 5 ms at a time, the device's own part included.
    assert_eq!(params.buffer_attr.target_length, 1_102 * 8);
    assert_eq!(params.buffer_attr.minimum_request_length, 220 * 8);
    assert!(params.flags.adjust_latency);
}

#[test]
fn heard_is_what_the_device_has_read_less_what_it_holds() {
    // 20 s are written at once; after the first answer the device stands at 10 s less 5 ms.
    let told = |read, plays, playing_for| Told {
        read,
        held_micros: 5_000,
        plays,
        playing_for,
    };
    let (_folder, server, _seen) = serve(Ways {
        frames: 882_000,
        told: vec![
            told(0, false, 0),
            told(0, true, 800),
            told(441_000, false, 0),
        ],
        ..ways()
    });
    let output = open_at(&server, "test", |_: &mut [f32]| ()).unwrap();
    until("10 s less 5 ms were heard", || {
        output.heard() == Some(440_779.5)
    });
    until("the gap is counted", || output.gaps() == 1);
    // All was asked for before the device stood there.
    let latency = output.latency().unwrap();
    assert!((latency - 441_220.5 / 44_100.0).abs() < 1e-9, "{latency}");
}

#[test]
fn a_server_that_goes_away_closes_the_output() {
    let (_folder, server, seen) = serve(Ways {
        leaves_after: 3,
        ..ways()
    });
    let output = open_at(&server, "test", |_: &mut [f32]| ()).unwrap();
    until("it is closed", || !output.is_open());
    seen.recv().unwrap();
    // What was heard stays.
    until("all that was written is heard, at most", || {
        output.heard().is_some_and(|f| f <= 2_000.0)
    });
    drop(output);
}
