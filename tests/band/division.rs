//! Sections divided over their parts: against all divisions there are, and as directors seat them.

use bandwright::band::division::{Counts, Task, divide, division_cost, usual_parts};
use bandwright::band::{Band, Split, read_band};
use bandwright::cli::bands::divisions;
use proptest::prelude::*;

/// All ways to give some players to parts, by level, by going through every one.
fn all(task: &Task) -> Vec<Vec<Counts>> {
    let mut found = vec![task.fixed.clone()];
    for level in 0..5 {
        for _ in 0..task.free[level] {
            let mut next = Vec::new();
            for division in &found {
                for part in 0..task.fixed.len() {
                    let mut more = division.clone();
                    more[part][level] += 1;
                    next.push(more);
                }
            }
            next.sort();
            next.dedup();
            found = next;
        }
    }
    found
}

fn any_task() -> impl Strategy<Value = Task> {
    let free = prop::array::uniform5(0_u16..4);
    let fixed = prop_oneof![3 => Just([0; 5]), 1 => prop::array::uniform5(0_u16..2)];
    (free, prop::collection::vec(fixed, 1..5), any::<bool>()).prop_filter_map(
        "few enough to go through",
        |(free, fixed, never_exposed)| {
            let task = Task {
                free,
                fixed,
                never_exposed,
            };
            (free.iter().sum::<u16>() <= 9).then_some(task)
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn no_division_is_cheaper(task in any_task()) {
        let found = divide(&task);
        let cost = division_cost(&task, &found).total();
        let least = all(&task).iter().map(|d| division_cost(&task, d).total()).min();
        prop_assert_eq!(Some(cost), least, "{:?}", found);
        prop_assert!(all(&task).contains(&found));
        prop_assert_eq!(divide(&task), found);
    }
}

#[test]
fn the_largest_section_is_divided() {
    let task = Task {
        free: [100; 5],
        fixed: vec![[0; 5]; 6],
        never_exposed: false,
    };
    let sizes: Vec<u16> = divide(&task).iter().map(|p| p.iter().sum()).collect();
    assert_eq!(sizes.iter().sum::<u16>(), 500);
    assert!(sizes.iter().all(|s| (75..=92).contains(s)), "{sizes:?}");
}

fn section(instrument: &str, parts: &str, players: &str) -> Band {
    let text = format!(
        "name = \"T\"\n[[section]]\nname = \"S\"\ninstrument = \"{instrument}\"\n{parts}\nplayers = \"{players}\"\n"
    );
    read_band(&text).unwrap()
}

fn counts(band: &Band) -> Vec<[u16; 5]> {
    band.parts.iter().map(|p| p.players.0).collect()
}

/// Worked sections (ours): what a director would expect.
#[test]
fn sections_are_seated_as_directors_seat_them() {
    // Strong players on the first part, but not both.
    let band = section(
        "trumpet",
        "parts = 3",
        "2 all-state, 3 intermediate, 4 first-year",
    );
    assert_eq!(
        counts(&band),
        [[0, 0, 1, 0, 1], [1, 0, 1, 0, 1], [3, 0, 1, 0, 0]]
    );
    // The demo's trumpets come out as they are in its roster.
    let band = section(
        "trumpet",
        "parts = 3",
        "2 first-year, 2 second-year, 2 intermediate, 1 advanced",
    );
    assert_eq!(
        counts(&band),
        [[0, 0, 1, 1, 0], [0, 1, 1, 0, 0], [2, 1, 0, 0, 0]]
    );
    // The weak one is not alone on the second part.
    let band = section("trumpet", "parts = 2", "2 advanced, 1 first-year");
    assert_eq!(counts(&band), [[0, 0, 0, 1, 0], [1, 0, 0, 1, 0]]);
    // One good player and beginners: the good one leads.
    let band = section("clarinet_bb", "parts = 2", "1 intermediate, 2 first-year");
    assert_eq!(counts(&band), [[0, 0, 1, 0, 0], [2, 0, 0, 0, 0]]);
    // Alike players: more below.
    let band = section("clarinet_bb", "parts = 3", "17 intermediate");
    let sizes: Vec<u16> = counts(&band).iter().map(|c| c[2]).collect();
    assert_eq!(sizes, [4, 6, 7]);
    // Four parts work in pairs: evenly.
    let band = section("horn", "parts = 4", "8 intermediate");
    assert!(counts(&band).iter().all(|c| c[2] == 2));
}

#[test]
fn the_number_of_parts_is_given_or_usual() {
    let parts = |players: &str| section("trumpet", "", players).parts.len();
    assert_eq!(parts("3 intermediate"), 1);
    assert_eq!(parts("4 intermediate"), 2);
    assert_eq!(parts("9 intermediate"), 3);
    let one = section("trumpet", "", "3 intermediate");
    assert_eq!(one.parts[0].name, "S");
    assert_eq!(one.roster.sections[0].split, Split::Proposed);
    assert_eq!(usual_parts("clarinet_bb", 14), Ok(3));
    assert_eq!(usual_parts("marimba", 14), Ok(1));
    for players in 0..80 {
        let more = usual_parts("horn", players + 1).unwrap();
        assert!(more >= usual_parts("horn", players).unwrap());
    }
}

#[test]
fn nobody_who_is_never_to_be_exposed_is_alone() {
    let text = "name = \"T\"\n[[section]]\nname = \"Horn\"\ninstrument = \"horn\"\nparts = 3\nplayers = \"1 advanced, 3 second-year\"\nremarks = { exposed = \"never\" }\n";
    let band = read_band(text).unwrap();
    assert!(band.parts.iter().all(|p| p.players.count() >= 2));
    assert_eq!(band.resting, ["Horn 3"]);
    let said = divisions(&band);
    assert!(
        said.contains("Nobody is left for Horn 3: it rests."),
        "{said}"
    );
    // Without that remark all three parts are played.
    let band = read_band(&text.replace("never", "may")).unwrap();
    assert_eq!(band.parts.len(), 3);
}

#[test]
fn a_part_that_the_roster_gives_is_kept() {
    let text = "name = \"T\"\n[[section]]\nname = \"Flute\"\ninstrument = \"flute\"\nparts = 2\nplayers = \"2 all-state, 2 intermediate\"\n[[section.player]]\nname = \"Beginner\"\nlevel = \"first_year\"\npart = \"Flute 1\"\n[[section.player]]\nname = \"Best\"\nlevel = \"all_state\"\npart = 2\n";
    let band = read_band(text).unwrap();
    let named = |part: usize| {
        let seats = band.parts[part].seats.iter();
        let names = seats.map(|id| band.seat(*id).unwrap().name.clone());
        names.filter(|n| !n.is_empty()).collect::<Vec<_>>()
    };
    assert_eq!(
        (named(0), named(1)),
        (vec!["Beginner".to_owned()], vec!["Best".to_owned()])
    );
    let said = divisions(&band);
    assert!(said.contains("Beginner (first-year)"), "{said}");
    assert!(
        said.contains("2 players sit where the roster says."),
        "{said}"
    );
}

/// Players of whom something limiting was said sit below others of their level.
#[test]
fn limits_go_to_the_lower_part() {
    let text = "name = \"T\"\n[[section]]\nname = \"Flute\"\ninstrument = \"flute\"\nparts = 2\n[[section.player]]\nname = \"Careful\"\nlevel = \"intermediate\"\nremarks = { highest = \"G5\" }\n[[section.player]]\nlevel = \"intermediate\"\ncount = 3\n";
    let band = read_band(text).unwrap();
    let high = |part: usize| band.parts[part].remarks.highest.map(|p| p.to_string());
    assert_eq!((high(0), high(1)), (None, Some("G5".to_owned())));
}
