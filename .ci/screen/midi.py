"""Standard MIDI files, read with nothing of the program's (SMF 1.0): names and notes of the tracks."""

import collections

Note = collections.namedtuple("Note", "onset end pitch")
Track = collections.namedtuple("Track", "name notes")


def read(path):
    """The ticks of a quarter, and the tracks."""
    data = path.read_bytes()
    if data[:4] != b"MThd":
        raise ValueError(f"{path} is no MIDI file")
    quarter = int.from_bytes(data[12:14], "big")
    at = 8 + int.from_bytes(data[4:8], "big")
    tracks = []
    while at < len(data):
        length = int.from_bytes(data[at + 4:at + 8], "big")
        if data[at:at + 4] == b"MTrk":
            tracks.append(track(data[at + 8:at + 8 + length]))
        at += 8 + length
    return quarter, tracks


def number(data, at):
    """A number of variable length, and where it ends."""
    value = 0
    while True:
        byte = data[at]
        at += 1
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at


def track(data):
    """The name and the notes of a track, in the order of their onsets."""
    name, notes, open_notes = "", [], collections.defaultdict(list)
    at, tick, status = 0, 0, 0
    while at < len(data):
        wait, at = number(data, at)
        tick += wait
        if data[at] >= 0x80:
            status, at = data[at], at + 1
        if status == 0xFF:
            kind = data[at]
            length, at = number(data, at + 1)
            if kind == 3:
                name = data[at:at + length].decode()
            at += length
        elif status in (0xF0, 0xF7):
            length, at = number(data, at)
            at += length
        else:
            kind, key = status & 0xF0, (status & 0x0F, data[at])
            if kind in (0x80, 0x90):
                if kind == 0x90 and data[at + 1] > 0:
                    open_notes[key].append(tick)
                elif open_notes[key]:
                    notes.append(Note(open_notes[key].pop(0), tick, key[1]))
            at += 1 if kind in (0xC0, 0xD0) else 2
    return Track(name, sorted(notes))
