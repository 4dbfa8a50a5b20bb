"""The director's remarks, checked from outside: in the JSON of `voice`, with the tempos, meters and
keys of the sketch's own MIDI file. Nothing here shares code with the program."""

import bisect
import collections
import itertools

CHANGE_SECONDS = 8.0
CHANGE_BARS = 2.0
ROUNDING = 0.001


class Clock:
    """Seconds, bars and keys at every tick of a MIDI file."""

    def __init__(self, quarter, events, found):
        self.quarter = quarter
        self.tempos = sorted(dict(events["tempo"]).items())
        if not self.tempos or self.tempos[0][0] > 0:
            self.tempos.insert(0, (0, 500_000))
        meters = {at: (top, bottom) for at, top, bottom in sorted(events["meter"])}
        meters.setdefault(0, (4, 4))
        self.meters = sorted(meters.items())
        # Lists of (tick, sharps or flats): the file's own, and those that were found.
        self.keys = [sorted((at, SIGNS[name]) for at, name in events["key"]), sorted(found)]

    def seconds(self, tick):
        total = 0.0
        for (at, micros), following in itertools.zip_longest(self.tempos, self.tempos[1:]):
            end = min(tick, following[0]) if following else tick
            if end > at:
                total += (end - at) * micros / self.quarter / 1e6
        return total

    def bars(self, tick):
        """The bar, from 1, with the share of it that has passed."""
        bar = 1
        for (at, (top, bottom)), following in itertools.zip_longest(self.meters, self.meters[1:]):
            length = max(1, self.quarter * 4 * top // bottom)
            if following is None or tick < following[0]:
                whole, rest = divmod(tick - at, length)
                start = at + whole * length
                end = min(start + length, following[0]) if following else start + length
                return bar + whole + rest / max(1, end - start)
            bar += -(-(following[0] - at) // length)
        return bar

    def played_bars(self, note):
        return range(int(self.bars(note["onset"])),
                     int(self.bars(note["onset"] + note["duration"] - 1)) + 1)


SIGNS = {name: i - 7 for i, name in enumerate(
    ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"])}
SIGNS.update({name: i - 7 for i, name in enumerate(
    ["Abm", "Ebm", "Bbm", "Fm", "Cm", "Gm", "Dm", "Am", "Em", "Bm", "F#m", "C#m", "G#m", "D#m",
     "A#m"])})


def written_signs(concert, transposition):
    """Sharps (positive) or flats of a concert key for a part that sounds so many semitones off."""
    places = (-transposition * 7) % 12
    plain = concert + (places if places <= 6 else places - 12)
    if abs(plain) <= 6:
        return plain
    return min((plain, plain - 12, plain + 12), key=abs)


def broken(result, clock, lines):
    """Every remark that a draft breaks with notes that are not locked, by kind. `lines` is the set
    of (onset, pitch class) of the sketch's tune and bass."""
    wrong = collections.defaultdict(list)
    notes = {p["name"]: p["notes"] for p in result["draft"]["parts"]}
    for part in result["band"]["parts"]:
        name, limits = part["name"], part["limits"]
        own = sorted(notes[name], key=lambda n: (n["onset"], n["pitch"]))
        for kind, found in (
            ("no leap over the greatest", leaps(own, limits["leap"])),
            ("nothing faster than the greatest speed",
             too_fast(own, limits["notes_per_second"], clock)),
            ("a bar of rest in time", no_rest(own, limits["bars_on_end"], clock)),
            ("no key with too many sharps or flats",
             hard_key(own, limits["accidentals"], part["transposition"], clock)),
            ("nobody alone who never should be",
             alone(name, notes, lines) if limits["never_alone"] else []),
            ("no two instruments of one player at once",
             [x for other in limits["shares_players_with"]
              for x in same_players(own, notes[other], clock)]),
        ):
            wrong[kind].extend((name, x) for x in found)
    return wrong


def pairs(notes):
    for a, b in zip(notes, notes[1:]):
        if b["onset"] > a["onset"] and not (a["locked"] and b["locked"]):
            yield a, b


def leaps(notes, most):
    if most is None:
        return []
    return [b["onset"] for a, b in pairs(notes) if abs(a["pitch"] - b["pitch"]) > most]


def too_fast(notes, most, clock):
    if most is None:
        return []
    gap = lambda a, b: clock.seconds(b["onset"]) - clock.seconds(a["onset"])
    return [b["onset"] for a, b in pairs(notes) if gap(a, b) + ROUNDING < 1 / most]


def no_rest(notes, most, clock):
    if most is None:
        return []
    played = {b for n in notes for b in clock.played_bars(n)}
    locked = {b for n in notes if n["locked"] for b in clock.played_bars(n)}
    window = lambda bar: range(bar, bar + most + 1)
    return [bar for bar in sorted(played)
            if all(b in played for b in window(bar)) and not all(b in locked for b in window(bar))]


def hard_key(notes, most, transposition, clock):
    if most is None:
        return []
    out = []
    for keys in clock.keys:
        for (at, signs), following in itertools.zip_longest(keys, keys[1:]):
            end = following[0] if following else float("inf")
            if abs(written_signs(signs, transposition)) > most:
                out += [n["onset"] for n in notes if not n["locked"]
                        and n["onset"] < end and n["onset"] + n["duration"] > at]
    return out


def alone(name, notes, lines):
    others = [n for part, row in notes.items() if part != name for n in row]
    struck = {(n["onset"], n["pitch"] % 12) for n in others}
    joined = []
    for start, end in sorted((n["onset"], n["onset"] + n["duration"]) for n in others):
        if joined and start <= joined[-1][1]:
            joined[-1][1] = max(joined[-1][1], end)
        else:
            joined.append([start, end])
    out = []
    for n in notes[name]:
        if n["locked"]:
            continue
        place = (n["onset"], n["pitch"] % 12)
        if (n["role"] != "harmony" or place in lines) and place not in struck:
            out.append(("carries a line", n["onset"]))
        i = bisect.bisect_right(joined, [n["onset"], float("inf")]) - 1
        if i < 0 or joined[i][1] < n["onset"] + n["duration"]:
            out.append(("sounds", n["onset"]))
    return out


def same_players(one, other, clock):
    out = []
    for a in one:
        for b in other:
            if a["locked"] and b["locked"]:
                continue
            first, then = sorted((a, b), key=lambda n: n["onset"])
            end = first["onset"] + first["duration"]
            if (end > then["onset"]
                    or clock.seconds(then["onset"]) - clock.seconds(end) < CHANGE_SECONDS - ROUNDING
                    or clock.bars(then["onset"]) - clock.bars(end) < CHANGE_BARS - ROUNDING):
                out.append((first["onset"], then["onset"]))
    return out


def self_test():
    """The arithmetic, on music small enough to see through."""
    clock = Clock(480, {"tempo": {(0, 500_000), (960, 1_000_000)},
                        "meter": {(0, 4, 4), (2880, 3, 4)}, "key": {(0, "E")}}, [(0, 4)])
    assert abs(clock.seconds(1440) - 2.0) < 1e-9
    assert [clock.bars(t) for t in (0, 960, 1920, 2400, 2880)] == [1, 1.5, 2, 2.5, 3]
    assert [written_signs(4, t) for t in (0, -2, -9, -7)] == [4, 6, -5, 5]

    def note(onset, duration, pitch, role="harmony", locked=False):
        return {"onset": onset, "duration": duration, "pitch": pitch, "role": role,
                "locked": locked}

    limits = {"leap": 4, "notes_per_second": 1.0, "bars_on_end": 1, "accidentals": 3,
              "never_alone": True, "shares_players_with": ["B"], "go_easy": None}
    free = {"leap": None, "notes_per_second": None, "bars_on_end": None, "accidentals": None,
            "never_alone": False, "shares_players_with": ["A"], "go_easy": None}
    own = [note(0, 480, 60), note(480, 480, 67, "melody"), note(2000, 100, 67)]
    result = {
        "band": {"parts": [{"name": "A", "transposition": 0, "limits": limits},
                           {"name": "B", "transposition": 0, "limits": free}]},
        "draft": {"parts": [{"name": "A", "notes": own},
                            {"name": "B", "notes": [note(0, 480, 60)]}]},
    }
    found = broken(result, clock, {(0, 0)})
    assert sorted(k for k, rows in found.items() if rows) == sorted(found), found
    for n in own:
        n["locked"] = True
    result["draft"]["parts"][1]["notes"][0]["locked"] = True
    found = broken(result, clock, {(0, 0)})
    assert not any(found.values()), found
