//! Players who are away.

use bandwright::band::{Band, cautions, preset, read_band, without};

const TEXT: &str = "name = \"T\"\n\
[[section]]\nname = \"Trumpet\"\ninstrument = \"trumpet\"\nparts = 3\nplayers = \"2 advanced, 2 intermediate, 2 first-year\"\n\
[[section.player]]\nname = \"R. Okafor\"\nlevel = \"all_state\"\n\
[[part]]\nname = \"Flute 1\"\ninstrument = \"flute\"\nplayers = { advanced = 1 }\n\
[[part]]\nname = \"Flute 2\"\ninstrument = \"flute\"\nplayers = { first_year = 2 }\n\
[[part.player]]\nname = \"Ann Lee\"\nlevel = \"second_year\"\nabsent = true\n";

fn band() -> Band {
    read_band(TEXT).unwrap()
}

fn less(who: &[&str]) -> Result<Band, String> {
    let who: Vec<String> = who.iter().map(|w| (*w).to_owned()).collect();
    without(&band(), &who).map_err(|e| e.to_string())
}

fn players(band: &Band, part: &str) -> Option<[u16; 5]> {
    let part = band.parts.iter().find(|p| p.name == part)?;
    Some(part.players.0)
}

/// Levels and seats of all who are away, in the order of the roster.
fn away(band: &Band) -> Vec<(usize, usize)> {
    let away = band.roster.seats().filter(|(_, s)| s.absent);
    away.map(|(id, _)| (id.section, id.seat)).collect()
}

#[test]
fn those_who_are_away_in_the_file_are_kept_and_not_counted() {
    let band = band();
    assert_eq!(players(&band, "Flute 2"), Some([2, 0, 0, 0, 0]));
    let part = band.parts.iter().find(|p| p.name == "Flute 2").unwrap();
    assert_eq!(part.seats.len(), 3);
    assert!(band.seat(part.seats[2]).unwrap().absent);
}

#[test]
fn a_name_a_seat_or_a_number_is_taken_away() {
    let none = away(&band());
    let with = |more: &[(usize, usize)]| {
        let mut all = [none.clone(), more.to_vec()].concat();
        all.sort();
        Ok(all)
    };
    let gone = |who: &[&str]| less(who).map(|b| away(&b));
    assert_eq!(gone(&["r okafor"]), with(&[(0, 6)]));
    assert_eq!(gone(&["Flute 2:1"]), with(&[(2, 0)]));
    assert_eq!(gone(&["trumpet:1"]), with(&[(0, 0)]));
    // From the bottom; of equals the last seat first.
    assert_eq!(gone(&["1 x Trumpet"]), with(&[(0, 5)]));
    assert_eq!(gone(&["2x trumpet"]), with(&[(0, 4), (0, 5)]));
    assert_eq!(gone(&["3 x Trumpet"]), with(&[(0, 3), (0, 4), (0, 5)]));
    // Parts that are called alike but for a number.
    assert_eq!(gone(&["2 x Flute"]), with(&[(2, 0), (2, 1)]));
    assert_eq!(gone(&["1 x Flute", "1 x Flute"]), with(&[(2, 0), (2, 1)]));
    // A part of a divided section, as it was divided.
    let first = band()
        .parts
        .iter()
        .find(|p| p.name == "Trumpet 1")
        .unwrap()
        .seats[0];
    assert_eq!(gone(&["Trumpet 1:1"]), with(&[(first.section, first.seat)]));
}

#[test]
fn a_section_is_divided_anew() {
    let before = band();
    let after = less(&["R. Okafor", "2 x Trumpet"]).unwrap();
    let sum = |b: &Band| -> u32 {
        let parts = b.parts.iter().filter(|p| p.instrument.id == "trumpet");
        parts.map(|p| p.players.count()).sum()
    };
    assert_eq!((sum(&before), sum(&after)), (7, 4));
    assert_eq!(players(&after, "Trumpet 1"), Some([0, 0, 0, 1, 0]));
    assert!(
        after.divisions[0]
            .reasons
            .iter()
            .any(|r| r == "3 players are away.")
    );
}

#[test]
fn a_part_without_players_rests_and_the_next_moves_up() {
    let less = less(&["Flute 1:1"]).unwrap();
    assert!(players(&less, "Flute 1").is_none());
    assert_eq!(less.resting, ["Flute 1"]);
    assert!(cautions(&less)[0].contains("nobody is there to play Flute 1; it rests"));
    let second = less.parts.iter().find(|p| p.name == "Flute 2").unwrap();
    assert_eq!(second.rank, 1);
    // Fewer players than parts: the last parts rest.
    let few = self::less(&["5 x Trumpet"]).unwrap();
    assert_eq!(few.resting, ["Trumpet 3"]);
    assert!(players(&few, "Trumpet 2").is_some());
    let none = self::less(&["7 x Trumpet"]).unwrap();
    assert_eq!(none.resting, ["Trumpet 1", "Trumpet 2", "Trumpet 3"]);
}

#[test]
fn who_is_not_there_is_refused_with_the_nearest() {
    let refused = |who: &str, words: &str| {
        let error = less(&[who]).expect_err(who);
        assert!(error.contains(words), "{error}");
        assert!(!error.contains('\u{1b}'));
    };
    refused("R. Okaforr", "did you mean `R. Okafor`?");
    refused("2 x Trumpits", "did you mean `Trumpet`?");
    refused("Flute 3:1", "did you mean `Flute 1`?");
    refused("Flute 2:4", "`Flute 2` has seats 1 to 3");
    refused("Flute 2:0", "seats 1 to 3");
    refused("Flute 2:\u{1b}", "seats 1 to 3");
    refused("3 x Flute 2", "has 2 players who are there");
    refused("0 x Flute 2", "from 1");
    refused("Flute 2", "say which: `1 x Flute 2`");
    refused("99999999999999999999999 x Flute", "no player");
    refused("", "no player");
    let all = ["7 x Trumpet", "3 x Flute"].map(str::to_owned);
    let error = without(&band(), &all).unwrap_err().to_string();
    assert!(error.contains("all are away"), "{error}");
}

#[test]
fn two_of_one_name_are_told_apart_by_seats() {
    let text = TEXT.replace("Ann Lee", "r okafor");
    let band = read_band(&text).unwrap();
    let error = without(&band, &["R. Okafor".to_owned()]).unwrap_err();
    assert!(
        error.to_string().contains("say a seat, as `Trumpet:7`"),
        "{error}"
    );
}

#[test]
fn nobody_away_changes_nothing() {
    let band = preset("demo").unwrap();
    assert_eq!(without(&band, &[]), Ok(band));
}
