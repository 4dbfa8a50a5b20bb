"""Note names, against scores of the music21 corpus, every note merged into one track.

A piece goes in twice: with the key signatures of its score, and with none. "Right" is the share
of notes named as in the score. With a signature nothing is forgiven. Without one the score's
choice between, say, G flat major and F sharp major cannot be heard, so a piece is counted after
the one enharmonic shift (0 or 12 places on the line of fifths, up or down, the same for the whole
piece) that fits it best; the strict share stands in a row of its own. Baselines: with a
signature, the twelve names nearest to the middle of the key (from the minor third of the major
tonic to its raised fifth); without one, ps13s1 (Meredith, The ps13 pitch spelling algorithm,
Journal of New Music Research 35(2), 2006; 10 notes before and 42 after, from memory), written
here anew. music21's own naming of a MIDI file is beside it for the first ten chorales.

The weights were fitted with the chorales, madrigals, piano pieces and hymn among others; before
they were rounded, three-fold fits gave 1.0000 on held-out chorales and 0.988 to 0.992 on held-out
piano pieces. The folk tunes and lead sheets were not fitted to.
"""

import random
from pathlib import Path

import mido
from common import TICKS, Row, folder, read

CHORALES = [f"bach/bwv{n}" for n in range(352, 439)]
PIANO = [
    "mozart/k545/movement1_exposition",
    "schumann_clara/polonaise_op1n1",
    "schumann_clara/polonaise_op1n3",
    "verdi/laDonnaEMobile",
    "liliuokalani/aloha_oe",
]
HYMN = ["johnson_j_r/lift_every_voice"]
LEAD_SHEETS = ["leadSheet/fosterBrownHair"]
FOLK = ["ryansMammoth", "oneills1850", "airdsAirs", "miscFolk"]
STEPS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}


# ---------------------------------------------------------------- scores


class Piece:
    """Notes (onset, length, pitch) with the place of each name on the line of fifths, and the
    key signatures (tick, sharps)."""

    def __init__(self, score):
        from music21 import key as m21key

        found, self.keys = {}, {}
        for part in score.parts or [score]:
            for element in part.flatten().getElementsByClass(m21key.KeySignature):
                self.keys.setdefault(round(element.offset * TICKS), element.sharps)
            for onset, length, pitch in notes_of(part):
                at = (onset, pitch.midi)
                names = found.setdefault(at, [length, pitch_place(pitch)])
                names[0] = max(names[0], length)
        self.notes = [(on, found[on, midi][0], midi) for on, midi in sorted(found)]
        self.places = [found[at][1] for at in sorted(found)]


def notes_of(part):
    from music21 import chord, harmony, note

    for item in part.stripTies().flatten().notes:
        length = round(item.quarterLength * TICKS)
        if isinstance(item, harmony.Harmony) or length <= 0:
            continue
        if isinstance(item, (chord.Chord, note.Note)):
            for pitch in item.pitches:
                yield round(item.offset * TICKS), length, pitch


def pitch_place(pitch):
    return STEPS[pitch.step] + 7 * int(pitch.alter)


def name_place(name):
    letter = name.rstrip("-0123456789")
    return STEPS[letter[0]] + 7 * (letter.count("#") - letter[1:].count("b"))


def scores(names):
    from music21 import corpus

    return [Piece(corpus.parse(name)) for name in names]


def madrigals():
    from music21 import converter, corpus

    place = Path(corpus.__file__).parent / "monteverdi"
    with_analysis = [p for p in sorted(place.glob("*.mxl")) if p.with_suffix(".rntxt").exists()]
    return [Piece(converter.parse(p)) for p in with_analysis]


def tunes(folders, count):
    """So many tunes of the folders, drawn with a seed; the files' text is drawn from, not whole
    files, as some hold hundreds."""
    from music21 import converter, corpus

    texts = []
    for name in folders:
        for path in sorted((Path(corpus.__file__).parent / name).glob("*.abc")):
            text = path.read_text(encoding="utf-8", errors="replace").replace("\r", "")
            texts += ["X:" + tune for tune in ("\n" + text).split("\nX:")[1:]]
    drawn = random.Random(1850).sample(texts, len(texts))
    pieces = []
    for text in drawn:
        try:
            piece = Piece(converter.parse(text, format="abc"))
        except Exception:  # not every tune is read by music21
            continue
        if len(piece.notes) >= 16:
            pieces.append(piece)
        if len(pieces) == count:
            break
    return pieces


# ---------------------------------------------------------------- names


def midi_file(path, piece, with_keys):
    mid = mido.MidiFile(type=1, ticks_per_beat=TICKS)
    head, track = mido.MidiTrack(), mido.MidiTrack()
    sharps = ["C", "G", "D", "A", "E", "B", "F#", "C#"]
    flats = ["C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "Cb"]
    now = 0
    for at, count in sorted(piece.keys.items()) if with_keys else []:
        name = sharps[count] if count >= 0 else flats[-count]
        head.append(mido.MetaMessage("key_signature", key=name, time=at - now))
        now = at
    events = []
    ends = {}
    for onset, length, pitch in piece.notes:
        # A pitch struck again while it sounds ends there.
        held = ends.get(pitch)
        if held and held[0] > onset:
            events.remove((held[0], 0, pitch))
            events.append((onset, 0, pitch))
        end = onset + length
        ends[pitch] = (end,)
        events += [(onset, 1, pitch), (end, 0, pitch)]
    now = 0
    for at, on, pitch in sorted(events):
        kind = "note_on" if on else "note_off"
        track.append(mido.Message(kind, note=pitch, velocity=72, time=at - now))
        now = at
    mid.tracks += [head, track]
    mid.save(path)


def ours(program, path, piece):
    answer = read(program, path)
    named = {}
    for line in answer["lines"].values():
        for note in line:
            named[note["onset"], note["pitch"]] = name_place(note["name"])
    return [named.get((onset, pitch)) for onset, _, pitch in piece.notes]


def nearest(pitch, middle):
    one = 7 * (pitch % 12)
    return one + 12 * round((middle - one) / 12)


def in_key(piece):
    changes = sorted(piece.keys.items())
    sharps = lambda onset: ([0] + [s for at, s in changes if at <= onset])[-1]
    return [nearest(pitch, sharps(onset) + 2.5) for onset, _, pitch in piece.notes]


def ps13s1(piece, before=10, after=42):
    classes = [pitch % 12 for _, _, pitch in piece.notes]
    if not classes:
        return []
    first = nearest(classes[0], 2)
    tonics = [first - (first - 7 * c + 5) % 12 + 5 for c in range(12)]
    names = []
    for i, own in enumerate(classes):
        votes = {}
        for c in classes[max(0, i - before) : i + after]:
            place = tonics[c] - 5 + (7 * own - tonics[c] + 5) % 12
            votes[place] = votes.get(place, 0) + 1
        names.append(max(votes, key=lambda p: (votes[p], -abs(p - 2))))
    return names


def music21_names(path):
    from music21 import converter

    score = converter.parse(path, quantizePost=False)
    named = {}
    for part in score.parts:
        for onset, _, pitch in notes_of(part):
            named.setdefault((onset, pitch.midi), pitch_place(pitch))
    return named


# ---------------------------------------------------------------- scores of the names


def right(piece, places, shifted=False):
    shifts = (-12, 0, 12) if shifted else (0,)
    same = lambda by: sum(a is not None and a + by == b for a, b in zip(places, piece.places))
    return max(same(by) for by in shifts)


def share(pieces, answers, shifted=False):
    notes = sum(len(p.notes) for p in pieces)
    return sum(right(p, a, shifted) for p, a in zip(pieces, answers)) / notes


def set_rows(program, work, name, pieces, floors):
    place = folder(work, "spelling")
    given, heard = [], []
    for piece in pieces:
        path = place / "piece.mid"
        midi_file(path, piece, True)
        given.append(ours(program, path, piece))
        midi_file(path, piece, False)
        heard.append(ours(program, path, piece))
    keyed, plain, strict = floors
    window, ps13 = [in_key(p) for p in pieces], [ps13s1(p) for p in pieces]
    return [
        Row("names, signature given", name, share(pieces, given), keyed,
            "window of the key", share(pieces, window)),
        Row("names, no signature", name, share(pieces, heard, True), plain,
            "ps13s1", share(pieces, ps13, True)),
        Row("names, no signature, strict", name, share(pieces, heard), strict,
            "ps13s1", share(pieces, ps13)),
    ]  # fmt: skip


def rows(program, work):
    chorales = scores(CHORALES)
    sets = [
        ("87 chorales", chorales, (0.9995, 0.9994, 0.9994)),
        ("5 piano pieces", scores(PIANO), (0.992, 0.991, 0.991)),
        ("hymn in A flat", scores(HYMN), (0.98, 0.98, 0.98)),
        ("48 madrigals", madrigals(), (0.9993, 0.9992, 0.9992)),
        ("300 folk tunes", tunes(FOLK, 300), (0.9993, 0.9993, 0.9993)),
        ("3 lead sheets", scores(LEAD_SHEETS) + tunes(["nottingham-dataset"], 2), (0.996, 0.996, 0.996)),
    ]
    found = []
    for name, pieces, floors in sets:
        found += set_rows(program, work, name, pieces, floors)
    path = folder(work, "spelling") / "piece.mid"
    theirs = []
    for piece in chorales[:10]:
        midi_file(path, piece, False)
        named = music21_names(path)
        theirs.append([named.get((onset, pitch)) for onset, _, pitch in piece.notes])
    for row in found[1:3]:
        shifted = "strict" not in row.measure
        figure = share(chorales[:10], theirs, shifted)
        row.baseline = f"music21's own (10) {figure:.4f}, {row.baseline}"
    return found
