//! What stands between two barlines: a bar, or several bars of rest as one sign.

use super::StaveMusic;
use super::system::{mark_width, tempo_width};
use crate::music::{BarNumber, Tick};
use crate::notation::{
    Clef, Columns, Opening, StaveFrame, WrittenBar, courtesy, openings, write_stave,
};

/// How wide the sign of several bars of rest is, in stave spaces (ours).
const RESTS: f32 = 11.0;

/// No bar is made wider than this for the marks over it, in stave spaces (ours).
const MOST_ROOM: f32 = 24.0;

/// A bar, or several bars of rest.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    /// The first bar, as it is written.
    pub written: WrittenBar,
    /// Its last bar.
    pub last: BarNumber,
    /// Where things stand in it.
    pub columns: Columns,
    /// The same where it is the first of a system: the change of key or meter stands in the opening.
    pub at_head: (WrittenBar, Columns),
    /// What stands at the left of a system that begins with it.
    pub opening: Opening,
    /// What stands at the right of a system that ends before it.
    pub courtesy: Opening,
}

impl Cell {
    /// How many bars of rest it stands for; `None` for a bar that is written out.
    pub fn rests(&self) -> Option<u32> {
        let count = self.last.0 - self.written.number.0 + 1;
        (count > 1).then_some(count)
    }

    /// Where things stand in it, at the head of a system or not.
    pub const fn placed(&self, head: bool) -> (&WrittenBar, &Columns) {
        if head {
            (&self.at_head.0, &self.at_head.1)
        } else {
            (&self.written, &self.columns)
        }
    }
}

/// The cells of a line.
pub(super) fn cells(music: &StaveMusic<'_>) -> Vec<Cell> {
    let frame = StaveFrame {
        meters: music.meters,
        keys: music.keys,
        transposition: music.stave.transposition,
        signatures: true,
        first: BarNumber(1),
        last: music.last_bar(),
    };
    let clef = music.stave.clef;
    let mut cells: Vec<Cell> = Vec::new();
    let mut resting = false;
    for bar in write_stave(&music.stave.notes, &frame) {
        let rests = is_rest(&bar);
        let joins = resting
            && rests
            && bar.old_key.is_none()
            && !bar.new_meter
            && !music.is_marked(bar.number);
        resting = rests;
        match cells.last_mut().filter(|_| joins) {
            Some(cell) => {
                cell.last = bar.number;
                for columns in [&mut cell.columns, &mut cell.at_head.1] {
                    columns.width = columns.music_x + RESTS;
                }
            }
            None => cells.push(cell(bar, clef)),
        }
    }
    cells.iter_mut().for_each(|c| make_room(c, music));
    cells
}

/// Makes a cell wide enough for the marks over it.
fn make_room(cell: &mut Cell, music: &StaveMusic<'_>) {
    let (from, to) = (cell.written.start, music.meters.bar_end(cell.last));
    let here = |at: Tick| from <= at && at < to;
    let marks = music.marks.iter().filter(|m| here(m.0));
    let tempos = music.tempos.iter().filter(|t| here(t.at()));
    let need = marks
        .map(|m| mark_width(&m.1))
        .sum::<f32>()
        .max(tempos.map(|t| tempo_width(*t)).sum());
    let need = need.min(MOST_ROOM);
    for columns in [&mut cell.columns, &mut cell.at_head.1] {
        if columns.width < need {
            *columns = columns.stretched(need);
        }
    }
}

fn cell(bar: WrittenBar, clef: Clef) -> Cell {
    let head = WrittenBar {
        old_key: None,
        new_meter: false,
        ..bar.clone()
    };
    let shows_meter = bar.number.0 == 1 || bar.new_meter;
    let meter = Some(bar.meter).filter(|_| shows_meter);
    let opening = openings(&[(clef, bar.key)], meter).pop();
    let changed = Some(bar.meter).filter(|_| bar.new_meter);
    Cell {
        last: bar.number,
        columns: Columns::of(&[(&bar, clef)]),
        at_head: (head.clone(), Columns::of(&[(&head, clef)])),
        opening: opening.unwrap_or_default(),
        courtesy: courtesy(clef, (bar.key, bar.old_key), changed),
        written: bar,
    }
}

fn is_rest(bar: &WrittenBar) -> bool {
    let mut events = bar.voices.iter().flat_map(|v| &v.events);
    events.all(|e| e.whole_bar)
}
