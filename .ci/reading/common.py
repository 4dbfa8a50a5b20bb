"""What the checks of the reading share: pieces with known answers as MIDI files, the program's
answer, scores, and the rows of the printed table."""

import json
import subprocess
from dataclasses import dataclass
from pathlib import Path

import mido

TICKS = 480


@dataclass
class Row:
    """One figure of the table. `ours` must not fall under `at_least`."""

    measure: str  # what is measured: "melody F1"
    pieces: str  # on what: "25 chorales, one track"
    ours: float
    at_least: float
    baseline: str = ""  # what it is compared with: "top note"
    theirs: float | None = None

    def holds(self):
        return self.ours >= self.at_least


def tick(quarters):
    return round(quarters * TICKS)


def write_midi(path, tracks, meter=(4, 4), tempo=500_000, key=None, ticks=TICKS):
    """Writes format 1: `tracks` is a list of (name, notes), a note (onset tick, length in ticks,
    pitch, velocity). Meter and key (mido's name, as "Bb") go to the first track."""
    mid = mido.MidiFile(type=1, ticks_per_beat=ticks)
    head = mido.MidiTrack()
    head.append(mido.MetaMessage("set_tempo", tempo=tempo))
    if meter:
        head.append(mido.MetaMessage("time_signature", numerator=meter[0], denominator=meter[1]))
    if key:
        head.append(mido.MetaMessage("key_signature", key=key))
    mid.tracks.append(head)
    for name, notes in tracks:
        events = []
        for onset, length, pitch, velocity in notes:
            events.append((onset, 1, pitch, velocity))
            events.append((onset + max(1, length), 0, pitch, 0))
        track = mido.MidiTrack()
        track.append(mido.MetaMessage("track_name", name=name))
        now = 0
        for at, on, pitch, velocity in sorted(events):
            kind = "note_on" if on else "note_off"
            track.append(mido.Message(kind, note=pitch, velocity=velocity, time=at - now))
            now = at
        mid.tracks.append(track)
    mid.save(path)


def read(program, path, *more):
    """The program's answer on a sketch as a dictionary."""
    done = subprocess.run(
        [program, "read", str(path), "--json", "-", *more], capture_output=True, text=True
    )
    if done.returncode:
        raise RuntimeError(f"{path}: {done.stderr}")
    return json.loads(done.stdout)


def f1(found, true, within=0):
    """Precision, recall and F1 of notes (onset, pitch), onsets within so many ticks."""
    free = {}
    for onset, pitch in true:
        free.setdefault(pitch, []).append(onset)
    hits = 0
    for onset, pitch in sorted(found):
        near = [t for t in free.get(pitch, []) if abs(t - onset) <= within]
        if near:
            hits += 1
            free[pitch].remove(min(near, key=lambda t: abs(t - onset)))
    precision = hits / len(found) if found else 0.0
    recall = hits / len(true) if true else 0.0
    both = precision + recall
    return precision, recall, 2 * precision * recall / both if both else 0.0


def folder(work, name):
    place = Path(work) / name
    place.mkdir(parents=True, exist_ok=True)
    return place
