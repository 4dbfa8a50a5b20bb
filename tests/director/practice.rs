//! The practice page: every note of the line is on it, ladders rise to the tempo, rests are counted.

use super::{all, asks_for_nothing, by_id, demo, of_class, parsed, text};
use bandwright::band::PartId;
use bandwright::export::practice_page::practice_systems;
use bandwright::export::{PracticePage, practice_html};
use bandwright::music::BarNumber;
use bandwright::project::drafted::Drafted;
use bandwright::project::practice_page::practice_page;
use bandwright::score::BeatsAMinute;
use std::collections::BTreeSet;

fn pages() -> Vec<PracticePage> {
    let drafted = Drafted::of(demo());
    let ids = (0..demo().document.band.parts.len()).map(PartId);
    ids.map(|id| practice_page(&drafted, id).unwrap()).collect()
}

#[test]
fn every_note_of_every_line_is_on_its_page() {
    for (page, line) in pages().iter().zip(&demo().document.draft.lines) {
        let html = practice_html(page);
        asks_for_nothing(&html);
        let xml = parsed(&html);
        let heads = of_class(by_id(&xml, "line"), "h");
        let notes: BTreeSet<usize> = heads
            .iter()
            .map(|h| h.attribute("data-note").unwrap().parse().unwrap())
            .collect();
        let expected: BTreeSet<usize> = (0..line.notes.len()).collect();
        assert_eq!(notes, expected, "{}", page.part);
        assert!(html.contains("SIL Open Font License"));
    }
}

#[test]
fn every_bar_is_in_one_system_and_hard_bars_are_marked() {
    for page in pages() {
        let systems = practice_systems(&page);
        let mut next = 1;
        for system in &systems {
            assert_eq!(system.first.0, next, "{}", page.part);
            next = system.last.0 + 1;
        }
        assert!(systems.is_empty() || next == page.bars + 1, "{}", page.part);
        let html = practice_html(&page);
        let xml = parsed(&html);
        let marks = of_class(by_id(&xml, "line"), "k");
        let mut told: Vec<usize> = marks.iter().map(|m| text(*m).parse().unwrap()).collect();
        told.sort_unstable();
        let spots = page.spots.iter().zip(1..);
        let wanted: Vec<usize> = spots.flat_map(|(s, n)| vec![n; s.bars.len()]).collect();
        assert_eq!(told, wanted, "{}", page.part);
    }
}

#[test]
fn ladders_on_the_page_rise_strictly_to_the_tempo_of_the_piece() {
    let song = &demo().song;
    let mut seen = 0;
    for (page, line) in pages().iter().zip(&demo().document.draft.lines) {
        let html = practice_html(page);
        let xml = parsed(&html);
        let rows = all(by_id(&xml, "spots"), "tr");
        for (row, spot) in rows.iter().skip(1).zip(&page.spots) {
            let cells: Vec<String> = all(*row, "td").iter().map(|c| text(*c)).collect();
            let (beat, tempos) = cells[3].split_once(" = ").unwrap();
            let tempos = tempos.split(';').next().unwrap();
            let tempos: Vec<u32> = tempos.split(", ").map(|t| t.parse().unwrap()).collect();
            assert!(tempos.windows(2).all(|w| w[0] < w[1]), "{tempos:?}");
            let first = line
                .notes
                .iter()
                .find(|n| song.meters.bar(n.onset) == spot.place.bar);
            let goal = BeatsAMinute::at(&song.tempo, &song.meters, first.unwrap().onset);
            assert_eq!(tempos.last(), Some(&goal.beats));
            assert_eq!(beat, goal.beat());
            assert!(f64::from(tempos[0]) <= 0.76 * f64::from(goal.beats) + 1.0);
            seen += 1;
        }
    }
    assert!(seen > 20, "{seen}");
}

#[test]
fn rests_are_whole_bars_in_which_nothing_sounds() {
    let meters = &demo().song.meters;
    for (page, line) in pages().iter().zip(&demo().document.draft.lines) {
        let resting: BTreeSet<u32> = (page.rests.iter())
            .flat_map(|r| r.rest.first.0..=r.rest.last.0)
            .collect();
        for bar in 1..=page.bars {
            let (from, to) = (
                meters.bar_start(BarNumber(bar)),
                meters.bar_end(BarNumber(bar)),
            );
            let sounds = line.notes.iter().any(|n| n.onset < to && n.end() > from);
            assert_eq!(resting.contains(&bar), !sounds, "{} bar {bar}", page.part);
        }
        for rest in &page.rests {
            let next = line
                .notes
                .iter()
                .find(|n| meters.bar(n.onset) > rest.rest.last);
            assert_eq!(rest.rest.comes_in, next.map(|n| meters.place(n.onset)));
        }
    }
}
