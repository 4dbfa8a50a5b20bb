//! Sound: how long from a word to the click that it asks for, and how far off what is told as heard is.
//!
//! Plays 20 clicks through the sound server's default output and records what that output plays, from its monitor.
//! Fails where a click comes later than 50 ms, or what is told as heard is more than 20 ms off. Where there is no
//! server it says so; then it fails with `--must` alone. With `--gone` it only plays until the server goes away.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a bench fails by panicking"
)]

use std::process::ExitCode;

#[cfg(not(target_os = "linux"))]
fn main() -> ExitCode {
    println!("clicks are measured on Linux alone: nothing was measured");
    ExitCode::SUCCESS
}

#[cfg(target_os = "linux")]
fn main() -> ExitCode {
    let asked = |what| std::env::args().any(|a| a == what);
    if asked("--gone") {
        linux::until_gone()
    } else {
        linux::measure(asked("--must"))
    }
}

#[cfg(target_os = "linux")]
mod linux {
    use bandwright::device::pulse::Server;
    use bandwright::device::{self, Output, RATE};
    use futures_executor::block_on;
    use pulseaudio::{Client, protocol, protocol::stream};
    use std::os::unix::net::UnixStream;
    use std::process::ExitCode;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicU64, Ordering};
    use std::sync::mpsc::{Receiver, Sender, channel};
    use std::thread::sleep;
    use std::time::{Duration, Instant};

    const CLICKS: usize = 20;

    /// A click: 2 ms of full scale.
    const CLICK: usize = RATE as usize / 500;

    /// Seconds that may pass from the word to the sound.
    const MOST_LATENCY: f64 = 0.050;

    /// Seconds that what is heard may be off.
    const MOST_OFF: f64 = 0.020;

    /// No click is asked for.
    const NONE: u64 = u64::MAX;
    /// A click is asked for.
    const ASKED: u64 = u64::MAX - 1;

    /// What was recorded: frames before this piece, the piece's left channel, when it came.
    struct Piece {
        first: u64,
        left: Vec<f32>,
        came: Instant,
    }

    /// A click, in seconds.
    struct Measured {
        captured: f64,
        sounded: f64,
        /// What is told as heard less the click, when it was captured and when it sounded.
        off_captured: f64,
        off_sounded: f64,
    }

    /// Plays silence until the server goes away; fails where that is not seen, or closing takes half a second.
    pub fn until_gone() -> ExitCode {
        let output = match device::open("bench", |_: &mut [f32]| ()) {
            Ok(output) => output,
            Err(why) => {
                println!("{why}");
                return ExitCode::FAILURE;
            }
        };
        println!("playing");
        let began = Instant::now();
        while output.is_open() && began.elapsed() < Duration::from_secs(60) {
            sleep(Duration::from_millis(1));
        }
        let seen = !output.is_open();
        println!("{}", if seen { "gone" } else { "NOT SEEN TO GO" });
        ExitCode::from(u8::from(!(closed(output) && seen)))
    }

    /// Whether an output closes within half a second.
    fn closed(output: Output) -> bool {
        let closing = Instant::now();
        drop(output);
        let took = closing.elapsed();
        println!("closed in {:.1} ms", took.as_secs_f64() * 1e3);
        took < Duration::from_millis(500)
    }

    pub fn measure(must: bool) -> ExitCode {
        // The frame at which the click began, once it did.
        let click = Arc::new(AtomicU64::new(NONE));
        let output = match open(&click) {
            Ok(output) => output,
            Err(why) => {
                println!("{why}");
                return ExitCode::from(u8::from(must));
            }
        };
        let (sender, pieces) = channel();
        let client = client();
        let record = block_on(client.create_record_stream(monitor(), record(sender))).unwrap();
        sleep(Duration::from_secs(2));
        let all: Vec<Measured> = (0..CLICKS)
            .map(|n| {
                // Not in step with the server's blocks.
                sleep(Duration::from_micros(200_000 + 3_700 * n as u64));
                one(&output, &click, &pieces, &record)
            })
            .collect();
        let latency = output.latency().unwrap() * 1e3;
        let gaps = output.gaps();
        println!("latency as the device tells it: {latency:.1} ms; gaps: {gaps}");
        let good = within(&all) && output.is_open();
        let good = closed(output) && good;
        println!("{}", if good { "good" } else { "TOO FAR" });
        ExitCode::from(u8::from(!good))
    }

    /// Prints all figures; whether they are as near as they must be.
    fn within(all: &[Measured]) -> bool {
        let late = show("word to capture", all, |m| m.captured);
        let sound = show("word to sound", all, |m| m.sounded);
        show("told as heard, at the capture", all, |m| m.off_captured);
        let off = show("told as heard, at the sound", all, |m| m.off_sounded);
        println!(
            "the sound is when the monitor's own clock has it: later than the capture, which is when the"
        );
        println!("output takes it up, and itself up to 2 ms late");
        late.max(sound) <= MOST_LATENCY && off <= MOST_OFF
    }

    /// A client that records. The server knows its user by the socket.
    fn client() -> Client {
        let path = Server::of_this_user().socket.unwrap();
        let socket = UnixStream::connect(path).unwrap();
        Client::new_unix(c"bench", socket, Some([0; 256])).unwrap()
    }

    fn open(click: &Arc<AtomicU64>) -> Result<Output, device::NoDevice> {
        let click = Arc::clone(click);
        let (mut frame, mut left) = (0_u64, 0);
        device::open("bench", move |out: &mut [f32]| {
            let asked = click.compare_exchange(ASKED, frame, Ordering::AcqRel, Ordering::Relaxed);
            if asked.is_ok() {
                left = CLICK;
            }
            for pair in out.chunks_exact_mut(2) {
                pair.fill(if left > 0 { 1.0 } else { 0.0 });
                left = left.saturating_sub(1);
                frame += 1;
            }
        })
    }

    /// What the default output plays, 2 ms at a time; the recording asks nothing of the output itself.
    fn monitor() -> protocol::RecordStreamParams {
        protocol::RecordStreamParams {
            sample_spec: protocol::SampleSpec {
                format: protocol::SampleFormat::Float32Le,
                channels: 2,
                sample_rate: RATE,
            },
            channel_map: protocol::ChannelMap::stereo(),
            source_name: Some(c"@DEFAULT_MONITOR@".to_owned()),
            buffer_attr: stream::BufferAttr {
                fragment_size: RATE / 500 * 8,
                ..Default::default()
            },
            ..Default::default()
        }
    }

    fn record(sender: Sender<Piece>) -> impl FnMut(&[u8]) + Send {
        let mut first = 0;
        move |bytes: &[u8]| {
            let came = Instant::now();
            let left: Vec<f32> = bytes
                .chunks_exact(8)
                .map(|f| f32::from_le_bytes([f[0], f[1], f[2], f[3]]))
                .collect();
            let frames = left.len() as u64;
            let _ = sender.send(Piece { first, left, came });
            first += frames;
        }
    }

    fn one(
        output: &Output,
        click: &AtomicU64,
        pieces: &Receiver<Piece>,
        record: &pulseaudio::RecordStream,
    ) -> Measured {
        while pieces.try_recv().is_ok() {}
        let told = Instant::now();
        click.store(ASKED, Ordering::Release);
        // What is told as heard, twice a millisecond, for as long as the click may be under way.
        let mut heard = Vec::new();
        let mut found: Option<(u64, Instant)> = None;
        let mut monitor = Vec::new();
        let sounding = |found: Option<(u64, Instant)>| match found {
            None => told.elapsed() < Duration::from_secs(3),
            Some((_, came)) => came.elapsed() < Duration::from_millis(150),
        };
        while sounding(found) {
            heard.push((Instant::now(), output.heard().unwrap()));
            while let Ok(piece) = pieces.try_recv() {
                let at = piece.left.iter().position(|s| *s > 0.5);
                if let (None, Some(at)) = (found, at) {
                    found = Some((piece.first + at as u64, piece.came));
                }
            }
            if monitor.len() * 10 < told.elapsed().as_millis() as usize {
                let sent = Instant::now();
                let state = block_on(record.timing_info()).unwrap();
                let at = sent + sent.elapsed() / 2;
                // The monitor has captured this, and of that the output still holds some.
                let held =
                    (state.source_usec as f64 - state.sink_usec as f64) / 1e6 * f64::from(RATE);
                monitor.push((at, state.write_offset as f64 / 8.0 + held));
            }
            sleep(Duration::from_micros(500));
        }
        let (captured, came) = found.expect("the click was recorded within 3 s");
        let frame = click.swap(NONE, Ordering::AcqRel) as f64;
        // When the captured frame sounds: the median of what each of the monitor's answers says.
        let mut sounds: Vec<f64> = monitor
            .iter()
            .map(|(at, f)| (*at - told).as_secs_f64() + (captured as f64 - f) / f64::from(RATE))
            .collect();
        sounds.sort_by(f64::total_cmp);
        let sounded = sounds[sounds.len() / 2];
        let came = (came - told).as_secs_f64();
        let heard_at = |secs: f64| {
            let next = heard.partition_point(|(at, _)| (*at - told).as_secs_f64() < secs);
            let (at, frames) = heard[next.min(heard.len() - 1)];
            frames + (secs - (at - told).as_secs_f64()) * f64::from(RATE)
        };
        let off = |secs: f64| (heard_at(secs) - frame) / f64::from(RATE);
        Measured {
            captured: came,
            sounded,
            off_captured: off(came),
            off_sounded: off(sounded),
        }
    }

    /// Prints the median and the worst in milliseconds; the worst in seconds.
    fn show(what: &str, all: &[Measured], of: impl Fn(&Measured) -> f64) -> f64 {
        let mut values: Vec<f64> = all.iter().map(of).collect();
        values.sort_by(|a, b| a.abs().total_cmp(&b.abs()));
        let (median, worst) = (values[values.len() / 2], values[values.len() - 1]);
        println!(
            "{what}: median {:.1} ms, worst {:.1} ms",
            median * 1e3,
            worst * 1e3
        );
        worst.abs()
    }
}
