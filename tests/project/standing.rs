//! Where a document stands after edits is where it would stand if it were looked into anew.

use bandwright::band::preset;
use bandwright::cli::files::DEMO_SKETCH;
use bandwright::music::{BarNumber, Interval};
use bandwright::project::standing::{Ask, Standing};
use bandwright::project::{Document, SketchFile};
use bandwright::score::Draft;
use bandwright::voicing::Effort;
use std::sync::Arc;

fn edited(of: &Document, edit: impl Fn(&mut Draft)) -> Document {
    let mut draft = (*of.draft).clone();
    edit(&mut draft);
    Document {
        draft: Arc::new(draft),
        ..of.clone()
    }
}

#[test]
fn following_edits_is_as_looking_anew() {
    let file = SketchFile {
        name: "demo.mid".to_owned(),
        bytes: DEMO_SKETCH.to_vec(),
        ..SketchFile::default()
    };
    let document = Document::new("Show", file, preset("demo").unwrap());
    let mut standing = Standing::of(&document).unwrap();
    let found = standing.solve(&Ask::Afresh, &Effort::default(), &mut |_| {});
    let first = Document {
        draft: Arc::new(found.draft),
        ..document
    };
    standing.follow(&first).unwrap();
    let bar = |number: u32| standing.look().song.meters.bar_start(BarNumber(number));
    let (from, to) = (bar(9), bar(17));
    let higher = edited(&first, |d| {
        let note = d.lines.iter_mut().find_map(|l| l.notes.get_mut(3)).unwrap();
        note.pitch = note.pitch.up(Interval(1)).unwrap();
    });
    // Who has most notes rests for a while, and the others are louder there.
    let rests = edited(&higher, |d| {
        let most = d.lines.iter_mut().max_by_key(|l| l.notes.len()).unwrap();
        most.notes.retain(|n| n.end() <= from || to <= n.onset);
        let all = d.lines.iter_mut().flat_map(|l| &mut l.notes);
        for note in all.filter(|n| from <= n.onset && n.onset < to) {
            note.velocity = note.velocity.saturating_add(20).min(127);
        }
    });
    for document in [&higher, &rests, &first] {
        standing.follow(document).unwrap();
        let look = standing.look();
        assert!(!look.judged.findings.is_empty());
        assert_eq!(*look.judged, look.judge(&document.draft));
    }
    standing.follow(&rests).unwrap();
    let anew = Standing::of(&rests).unwrap();
    let (kept, anew) = (standing.look(), anew.look());
    assert_eq!(kept.judged, anew.judged);
    assert_eq!(kept.course, anew.course);
    assert_eq!(kept.conflicts, anew.conflicts);
}
