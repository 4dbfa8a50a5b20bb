//! All that can be done in the window, in one table: name, what it does, key. Menus, tooltips, the list
//! of actions and the sheet of keys are made from it.

use eframe::egui::{Key, KeyboardShortcut, Modifiers};

/// Something that can be done.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Action {
    /// A new show.
    New,
    /// Open a show.
    Open,
    /// Save the show.
    Save,
    /// Save it under another name.
    SaveAs,
    /// Close the window.
    Quit,
    /// Bring in a sketch.
    BringInSketch,
    /// Say what the lines of the sketch are, and how it was read.
    ShowSketch,
    /// Take a band.
    BringInBand,
    /// Edit the roster.
    EditRoster,
    /// Bring in a draft that came back.
    BringBack,
    /// Send the draft out as MIDI.
    SendOutMidi,
    /// Send the draft out as a score.
    SendOutScore,
    /// Send every part out by itself.
    SendOutParts,
    /// Send out the director's sheet.
    SendOutSheet,
    /// Send out the practice page of the selected part.
    SendOutPractice,
    /// Take back the last step.
    Undo,
    /// Do the step again.
    Redo,
    /// Fix the selected notes.
    Lock,
    /// Free the selected notes.
    Unlock,
    /// Up to the next chord tone.
    ChordToneUp,
    /// Down to the next chord tone.
    ChordToneDown,
    /// Up a step.
    StepUp,
    /// Down a step.
    StepDown,
    /// Up an octave.
    OctaveUp,
    /// Down an octave.
    OctaveDown,
    /// Make the note longer.
    Longer,
    /// Make the note shorter.
    Shorter,
    /// Cut the note in two.
    Split,
    /// Join the note with the next.
    Join,
    /// Add a note.
    Add,
    /// Remove the selected notes.
    Delete,
    /// Give the line to other parts.
    HandOver,
    /// Let other parts double the line.
    Double,
    /// Take the sketch's line into the part.
    TakeLine,
    /// Score the repeats like this passage.
    PasteToRepeats,
    /// Keep the tune as written here.
    TuneAsWritten,
    /// Let notes of the tune change here.
    TuneMayChange,
    /// The selected sketch notes are melody.
    TagMelody,
    /// They are counterline.
    TagCounterline,
    /// They are harmony.
    TagHarmony,
    /// They are bass.
    TagBass,
    /// They are a figure.
    TagFigure,
    /// A point of the wanted curve at the selected bar.
    AddPoint,
    /// Name a peak at the selected bar.
    NamePeak,
    /// Name a crest at the selected bar.
    NameCrest,
    /// Name a hush at the selected bar.
    NameHush,
    /// Take one of the shapes that come along.
    TakeShape,
    /// The shape as a list.
    ShowShape,
    /// Bring in a timeline.
    BringInTimeline,
    /// Send out the timeline.
    SendOutTimeline,
    /// Send out the shape as a picture.
    SendOutShape,
    /// Remove the timeline.
    RemoveTimeline,
    /// The note before.
    NoteBefore,
    /// The note after.
    NoteAfter,
    /// The part above.
    PartAbove,
    /// The part below.
    PartBelow,
    /// The bar before.
    BarBefore,
    /// The bar after.
    BarAfter,
    /// One bar more to the left.
    ExtendBack,
    /// One bar more to the right.
    ExtendOn,
    /// One part more above.
    ExtendAbove,
    /// One part more below.
    ExtendBelow,
    /// The whole passage.
    SelectPassage,
    /// The whole part.
    SelectPart,
    /// Everything.
    SelectAll,
    /// Nothing.
    SelectNothing,
    /// To the first bar.
    ToStart,
    /// To the last bar.
    ToEnd,
    /// Solve all that is not locked, from the start.
    SolveAll,
    /// Solve the selection again.
    SolveSelection,
    /// Stop the solve that runs; its best answer so far is kept.
    Stop,
    /// Flip between now and before.
    Flip,
    /// Other ways of scoring the passage.
    NextWay,
    /// Take the way that is shown.
    TakeWay,
    /// Play from the selection on, or stop.
    Play,
    /// Play from the first bar.
    PlayFromStart,
    /// Hear what sounds at the selected place.
    HearChord,
    /// Notes are heard as they are selected, or not.
    Touch,
    /// Passages begin anew at their end, or not.
    Again,
    /// A bar is counted before, or not.
    CountIn,
    /// A step slower.
    Slower,
    /// A step quicker.
    Quicker,
    /// Hear the sketch in place of the draft, and back.
    FlipSource,
    /// Hear the next line alone.
    NextLine,
    /// Mute the selected parts.
    Mute,
    /// Let the selected parts play solo.
    Solo,
    /// Nobody is muted or solo.
    Everybody,
    /// Listen from the next place.
    NextPlace,
    /// Play with a SoundFont.
    ChooseSounds,
    /// Concert pitch or as written.
    Written,
    /// Larger.
    ZoomIn,
    /// Smaller.
    ZoomOut,
    /// The whole show.
    WholeShow,
    /// One bar.
    OneBar,
    /// Light or dark.
    Dark,
    /// Larger text.
    LargerText,
    /// Smaller text.
    SmallerText,
    /// Why this note.
    ShowWhy,
    /// The findings.
    ShowFindings,
    /// The ways of scoring.
    ShowWays,
    /// Search all actions.
    FindAction,
    /// The sheet of keys.
    KeySheet,
}

/// A row of the table.
#[derive(Clone, Copy, Debug)]
pub struct About {
    /// The action.
    pub action: Action,
    /// The menu that it stands in.
    pub menu: Menu,
    /// What it is called, also for a screen reader.
    pub name: &'static str,
    /// What it does, for a tooltip.
    pub what: &'static str,
    /// Its key.
    pub key: Option<KeyboardShortcut>,
}

/// A menu, in the order of the work.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Menu {
    /// The file.
    Show,
    /// What comes in.
    BringIn,
    /// Notes.
    Notes,
    /// Lines: who plays them, and what they are.
    Lines,
    /// How the show goes from its beginning to its end.
    Shape,
    /// What is selected.
    Select,
    /// The solver.
    Solve,
    /// What is heard.
    Listen,
    /// What is seen.
    View,
    /// What leaves.
    SendOut,
}

impl Menu {
    /// All menus from left to right.
    pub const ALL: [Self; 10] = [
        Self::Show,
        Self::BringIn,
        Self::Notes,
        Self::Lines,
        Self::Shape,
        Self::Select,
        Self::Solve,
        Self::Listen,
        Self::View,
        Self::SendOut,
    ];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Show => "Show",
            Self::BringIn => "Bring in",
            Self::Notes => "Notes",
            Self::Lines => "Lines",
            Self::Shape => "Shape",
            Self::Select => "Select",
            Self::Solve => "Solve",
            Self::Listen => "Listen",
            Self::View => "View",
            Self::SendOut => "Send out",
        }
    }
}

const CTRL: Modifiers = Modifiers::COMMAND;
const SHIFT: Modifiers = Modifiers::SHIFT;
const ALT: Modifiers = Modifiers::ALT;
const CTRL_SHIFT: Modifiers = Modifiers {
    shift: true,
    ..Modifiers::COMMAND
};
const BARE: Modifiers = Modifiers::NONE;

const fn key(modifiers: Modifiers, key: Key) -> Option<KeyboardShortcut> {
    Some(KeyboardShortcut::new(modifiers, key))
}

macro_rules! table {
    ($($menu:ident $action:ident $name:literal $key:expr, $what:literal;)*) => {
        /// All actions, menu by menu, in the order of the menus.
        pub const ACTIONS: &[About] = &[$(About {
            action: Action::$action,
            menu: Menu::$menu,
            name: $name,
            what: $what,
            key: $key,
        }),*];
    };
}

table! {
    Show New "New show" key(CTRL, Key::N), "Begin with an empty sheet; what is open is asked about first";
    Show Open "Open…" key(CTRL, Key::O), "Open a show that was saved";
    Show Save "Save" key(CTRL, Key::S), "Save the show to its file";
    Show SaveAs "Save as…" key(CTRL_SHIFT, Key::S), "Save the show to another file";
    Show Quit "Close" key(CTRL, Key::Q), "Close the window; what is not saved is asked about first";
    BringIn BringInSketch "Sketch…" key(CTRL, Key::I), "Bring in a piano sketch, a MIDI or MusicXML file";
    BringIn ShowSketch "What was found in it" key(CTRL, Key::K), "The lines, chords, keys and warnings of the sketch";
    BringIn BringInBand "Band…" key(CTRL, Key::B), "Take one of the bands that come along, or a roster of your own";
    BringIn EditRoster "Roster" key(CTRL, Key::R), "Players, levels, remarks, who is away";
    BringIn BringBack "Draft that comes back…" key(CTRL_SHIFT, Key::B), "See what was changed elsewhere in a draft of this show, and lock that";
    Notes Undo "Undo" key(CTRL, Key::Z), "Take back the last step";
    Notes Redo "Redo" key(CTRL_SHIFT, Key::Z), "Do the step again that was taken back";
    Notes Lock "Lock" key(BARE, Key::L), "Fix what is selected: no solve ever changes it";
    Notes Unlock "Unlock" key(SHIFT, Key::L), "Free what is selected";
    Notes ChordToneUp "Up to the next chord tone" key(ALT, Key::ArrowUp), "Move the selected notes up to the next tone of the chord";
    Notes ChordToneDown "Down to the next chord tone" key(ALT, Key::ArrowDown), "Move the selected notes down to the next tone of the chord";
    Notes StepUp "Up a step" key(BARE, Key::PageUp), "Move the selected notes up a step of the key";
    Notes StepDown "Down a step" key(BARE, Key::PageDown), "Move the selected notes down a step of the key";
    Notes OctaveUp "Up an octave" key(CTRL, Key::PageUp), "Move the selected notes up an octave";
    Notes OctaveDown "Down an octave" key(CTRL, Key::PageDown), "Move the selected notes down an octave";
    Notes Longer "Longer" key(BARE, Key::Period), "Make the note longer by half a beat";
    Notes Shorter "Shorter" key(BARE, Key::Comma), "Make the note shorter by half a beat";
    Notes Split "Split" key(BARE, Key::X), "Cut the note in two halves";
    Notes Join "Join with the next" key(SHIFT, Key::X), "Make one note of this one and the next";
    Notes Add "Add a note" key(BARE, Key::N), "Add a note where the part rests: the nearest tone of the chord";
    Notes Delete "Delete" key(BARE, Key::Delete), "Remove the selected notes";
    Lines HandOver "Hand over…" key(BARE, Key::H), "Give the selected line to other parts; this one rests";
    Lines Double "Let others double…" key(SHIFT, Key::H), "Let other parts play the selected line too";
    Lines TakeLine "Take a line of the sketch…" key(BARE, Key::T), "Put a line of the sketch into the selected parts, in the octave that suits them";
    Lines PasteToRepeats "Score the repeats like this" key(CTRL, Key::D), "Carry the scoring of this passage to where its music comes again";
    Lines TuneAsWritten "Keep the tune as written" key(BARE, Key::W), "In these bars the tune stays in the sketch's own octave; instruments give way, not notes";
    Lines TuneMayChange "Let the tune give way" key(SHIFT, Key::W), "In these bars a note of the tune that nobody can play may become another";
    Lines TagMelody "This is melody" key(BARE, Key::Num1), "The selected notes of the sketch are the tune";
    Lines TagCounterline "This is counterline" key(BARE, Key::Num2), "The selected notes of the sketch are a second tune";
    Lines TagHarmony "This is harmony" key(BARE, Key::Num3), "The selected notes of the sketch fill the chord";
    Lines TagBass "This is bass" key(BARE, Key::Num4), "The selected notes of the sketch are the bass";
    Lines TagFigure "This is a figure" key(BARE, Key::Num5), "The selected notes of the sketch are a piano pattern";
    Shape AddPoint "Add a point" key(BARE, Key::I), "Put a point on the wanted curve at the selected bar, to be dragged";
    Shape NamePeak "Name a peak…" key(BARE, Key::K), "The selected bar is a peak of the show: full scoring, prepared by what comes before";
    Shape NameCrest "Name a crest…" key(CTRL_SHIFT, Key::K), "The selected bar is a lesser peak";
    Shape NameHush "Name a hush…" key(SHIFT, Key::K), "The selected bar is a quiet place: few players, soft registers";
    Shape TakeShape "Take a shape…" key(CTRL, Key::T), "Begin with one of the shapes that come along, stretched to the bars of the music";
    Shape ShowShape "Sections, silences, tempos…" key(CTRL_SHIFT, Key::L), "The shape as a list: sections, peaks, silences, tempos, pauses, and lanes for drill, flags and voice";
    Shape BringInTimeline "Bring in a timeline…" key(CTRL_SHIFT, Key::I), "Take the shape of the show from a timeline file";
    Shape SendOutTimeline "Send out the timeline…" key(CTRL_SHIFT, Key::T), "Write the shape of the show as a timeline file";
    Shape SendOutShape "Send out the shape as a picture…" key(CTRL_SHIFT, Key::E), "Draw the shape, wanted and reached, to print and pin up (SVG)";
    Shape RemoveTimeline "Remove the timeline" key(CTRL_SHIFT, Key::R), "Let the show go as the sketch was played";
    Select NoteBefore "Note before" key(BARE, Key::ArrowLeft), "Select the note before";
    Select NoteAfter "Note after" key(BARE, Key::ArrowRight), "Select the note after";
    Select PartAbove "Part above" key(BARE, Key::ArrowUp), "Select in the part above";
    Select PartBelow "Part below" key(BARE, Key::ArrowDown), "Select in the part below";
    Select BarBefore "Bar before" key(CTRL, Key::ArrowLeft), "Select the bar before";
    Select BarAfter "Bar after" key(CTRL, Key::ArrowRight), "Select the bar after";
    Select ExtendBack "Reach back" key(SHIFT, Key::ArrowLeft), "Move the end of the selection back by a bar";
    Select ExtendOn "Reach on" key(SHIFT, Key::ArrowRight), "Move the end of the selection on by a bar";
    Select ExtendAbove "Reach up" key(SHIFT, Key::ArrowUp), "Move the lower edge of the selection up by a part";
    Select ExtendBelow "Reach down" key(SHIFT, Key::ArrowDown), "Move the lower edge of the selection down by a part";
    Select SelectPassage "The passage" key(BARE, Key::P), "Select the whole passage in the selected parts";
    Select SelectPart "The whole part" key(SHIFT, Key::P), "Select the selected parts from the first bar to the last";
    Select SelectAll "Everything" key(CTRL, Key::A), "Select all bars of all parts";
    Select SelectNothing "Nothing" key(BARE, Key::Escape), "Select nothing, or stop the solve that runs";
    Select ToStart "First bar" key(BARE, Key::Home), "Go to the first bar";
    Select ToEnd "Last bar" key(BARE, Key::End), "Go to the last bar";
    Solve SolveAll "Solve all that is not locked" key(CTRL, Key::Enter), "Work out everything anew around the locks";
    Solve SolveSelection "Solve the selection again" key(BARE, Key::Enter), "Work out the selected bars and parts again; nothing else moves";
    Solve Stop "Stop and keep the best" key(SHIFT, Key::Escape), "Stop the solve that runs; its best answer so far is kept, with its bound";
    Solve Flip "Flip to before" key(BARE, Key::F), "Show what was there before the last solve, and back";
    Solve NextWay "Another way for the passage" key(BARE, Key::V), "Look through other ways of scoring the passage";
    Solve TakeWay "Take this way" key(SHIFT, Key::V), "Score the passage in the way that is shown";
    Listen Play "Play, or stop" key(BARE, Key::Space), "Hear the selected bars, or all from the selected place on; again: silence at once";
    Listen PlayFromStart "Play from the start" key(SHIFT, Key::Space), "Hear it from the first bar on";
    Listen HearChord "Hear the chord here" key(BARE, Key::E), "Hear all that sounds at the selected place, held";
    Listen Touch "Hear notes as selected" key(SHIFT, Key::E), "A note is heard when it is selected or moved; again: silence";
    Listen Again "Over and over" key(BARE, Key::O), "What is played begins anew at its end: the selected bars, or all";
    Listen CountIn "Count in" key(BARE, Key::J), "Count a bar of beats before the music";
    Listen Slower "Slower" key(BARE, Key::Minus), "Play at a slower tempo, at the same pitch";
    Listen Quicker "Quicker" key(BARE, Key::Plus), "Play at a quicker tempo, at the same pitch";
    Listen FlipSource "Draft or sketch" key(BARE, Key::D), "Hear the sketch on a piano in place of the draft, and back, at the same place";
    Listen NextLine "One line alone" key(BARE, Key::Q), "Hear only the melody, the next time only the counterline, and so on; at last all";
    Listen Mute "Mute" key(BARE, Key::M), "Do not hear the selected parts; again: hear them";
    Listen Solo "Solo" key(BARE, Key::S), "Hear the selected parts alone, with others that play solo";
    Listen Everybody "Hear everybody" key(BARE, Key::A), "Nobody is muted, nobody plays solo";
    Listen NextPlace "Listen from elsewhere" key(BARE, Key::Y), "From the podium, from a seat in the stands, from high up: who is near is louder";
    Listen ChooseSounds "Sounds…" key(CTRL_SHIFT, Key::Y), "Play with a General MIDI SoundFont of your own (.sf2) in place of the built-in sounds";
    View Written "As written for the player" key(BARE, Key::C), "Show parts at concert pitch, or as their players read them";
    View ZoomIn "Larger" key(CTRL, Key::Plus), "Show fewer bars, larger";
    View ZoomOut "Smaller" key(CTRL, Key::Minus), "Show more bars, smaller";
    View WholeShow "The whole show" key(CTRL, Key::Num0), "Show all bars at once";
    View OneBar "One bar" key(CTRL, Key::Num1), "Show the selected bar alone";
    View Dark "Light or dark" key(CTRL, Key::J), "Dark paper for dark rooms";
    View LargerText "Larger text" key(CTRL, Key::Period), "Make all words larger";
    View SmallerText "Smaller text" key(CTRL, Key::Comma), "Make all words smaller";
    View ShowWhy "Why this note" key(BARE, Key::F2), "Why the selected note is there, and what else it could be";
    View ShowFindings "Findings" key(BARE, Key::F3), "What a reviewer would mark";
    View ShowWays "Ways of scoring" key(BARE, Key::F4), "How the passage is scored, and other ways";
    View FindAction "Find an action…" key(CTRL, Key::F), "Search everything that can be done";
    View KeySheet "Sheet of keys" key(BARE, Key::F1), "All keys, to read or to print";
    SendOut SendOutMidi "MIDI draft…" key(CTRL, Key::E), "Write the draft as a MIDI file: the sketch and a track for each part";
    SendOut SendOutScore "MusicXML score…" key(CTRL, Key::M), "Write the draft as a score for a notation program: .musicxml, or packed as .mxl";
    SendOut SendOutParts "Single parts…" key(CTRL_SHIFT, Key::M), "Write every part by itself into a folder, as MIDI and as MusicXML";
    SendOut SendOutSheet "Director's sheet…" key(CTRL, Key::G), "Write what the director has to know: ranges, hard spots, rests, what to rehearse first (page to print, or Markdown)";
    SendOut SendOutPractice "Practice page of the part…" key(CTRL_SHIFT, Key::G), "Write the selected part as a page to practise from: its line, hard spots, tempos";
}

impl Action {
    /// Its row of the table.
    #[must_use]
    pub fn about(self) -> &'static About {
        ACTIONS
            .iter()
            .find(|a| a.action == self)
            .unwrap_or(&ACTIONS[0])
    }

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.about().name
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_row_has_its_own_action_name_and_key() {
        let actions: BTreeSet<Action> = ACTIONS.iter().map(|a| a.action).collect();
        let names: BTreeSet<&str> = ACTIONS.iter().map(|a| a.name).collect();
        assert_eq!((actions.len(), names.len()), (ACTIONS.len(), ACTIONS.len()));
        for (i, a) in ACTIONS.iter().enumerate() {
            for b in &ACTIONS[i + 1..] {
                assert!(a.key != b.key, "{} and {}", a.name, b.name);
            }
            assert!(a.key.is_some(), "{} has no key", a.name);
        }
    }

    #[test]
    fn menus_stand_together() {
        assert!(ACTIONS.windows(2).all(|w| w[0].menu <= w[1].menu));
        assert_eq!(Action::Redo.about().action, Action::Redo);
    }
}
