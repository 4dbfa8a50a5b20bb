//! A band of thirty parts, for the benches.

use bandwright::band::{Band, read_band};

/// Thirty parts of a concert band, two players on each.
pub fn band() -> Band {
    let sections = [
        ("Piccolo", "piccolo", 1),
        ("Flute", "flute", 2),
        ("Oboe", "oboe", 2),
        ("Bassoon", "bassoon", 2),
        ("Clarinet", "clarinet_bb", 3),
        ("Bass Clarinet", "clarinet_bass", 1),
        ("Alto Sax", "sax_alto", 2),
        ("Tenor Sax", "sax_tenor", 1),
        ("Baritone Sax", "sax_baritone", 1),
        ("Trumpet", "trumpet", 4),
        ("Horn", "horn", 4),
        ("Trombone", "trombone", 3),
        ("Bass Trombone", "trombone_bass", 1),
        ("Euphonium", "euphonium_bc", 2),
        ("Tuba", "tuba", 1),
    ];
    let part = |(name, instrument, count): &(&str, &str, u32)| {
        let one = |i| {
            format!(
                "[[part]]\nname = \"{name} {i}\"\ninstrument = \"{instrument}\"\nplayers = {{ intermediate = 1, advanced = 1 }}\n"
            )
        };
        (1..=*count).map(one).collect::<String>()
    };
    let text: String = sections.iter().map(part).collect();
    let band = read_band(&format!("name = \"Show\"\n{text}")).expect("the roster is sound");
    assert_eq!(band.parts.len(), 30);
    band
}
