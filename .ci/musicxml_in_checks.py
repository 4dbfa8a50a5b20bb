"""Outside check of reading MusicXML: files of music21's corpus, the same notes as music21 finds.

Every file is read by `bandwright read FILE --json -` and by music21, and the notes are held against each other: where
they begin and how long they sound, tied notes as one, at sounding pitch, repeats played out; grace notes by their
pitches alone. What bandwright refuses must stand in REFUSED with its reason; what music21 reads otherwise, in ORDERS
or STATED. Only notes are compared; nothing is tuned by what is seen here.

    python musicxml_in_checks.py --program target/release/bandwright
    python musicxml_in_checks.py --self-test
"""

import argparse
import collections
import json
import multiprocessing
import os
import subprocess
import sys
import tempfile
import time
import warnings
import zipfile
from fractions import Fraction
from xml.etree import ElementTree

# What differs by less is rounding: music21 keeps some tuplets as fractions of a coarser grid.
ROUNDING = Fraction(1, 480)
# Files are taken from every folder of the corpus: so many, spread over its names, and no larger than this in bytes, since
# music21 takes minutes for a string quartet.
FROM_FOLDER = 4
FROM_LARGE_FOLDER = {'bach': 34, 'monteverdi': 6, 'trecento': 22}
MOST_BYTES = {'mxl': 14_000, 'xml': 250_000, 'musicxml': 250_000}
# Left alone for their licences (see the corpus' own notes).
LEFT_ALONE = ('essenFolksong', 'berlinAlexandersRagtime')
# Besides those: jumps, pickups that repeats cut, first endings half told, transposing parts.
ALSO = [
    'haydn/opus74no1/movement3.mxl',
    'handel/rinaldo/Lascia_chio_pianga.mxl',
    'luca/gloria.xml',
    'mozart/k458/movement2.mxl',
    'mozart/k545/movement1_exposition.mxl',
    'schumann_clara/polonaise_op1n1.mxl',
    'schumann_clara/polonaise_op1n2.mxl',
    'schumann_clara/polonaise_op1n3.mxl',
    'schumann_clara/polonaise_op1n4.mxl',
    'schumann_robert/dichterliebe_no2.xml',
    'schumann_robert/opus48no2.mxl',
    'verdi/laDonnaEMobile.mxl',
    'webern/webern_dormi_jesu_op_16_no_2.mxl',
]
FEWEST = 100


def turns(*stretches):
    """A playing order from stretches of measures, counted from 1 as they stand in the file, both ends played."""
    return [m - 1 for first, last in stretches for m in range(first, last + 1)]


# music21 follows no jump that a sound element makes, refuses a repeat that has no sign where it begins before an ending that
# is told half, and never says why. The order stands here as the file's signs give it, read by hand.
ORDERS = {
    # <sound segno> in measure 13, <sound fine> in 42, <sound dalsegno> in 54 (in one part alone)
    'handel/rinaldo/Lascia_chio_pianga.mxl': turns((1, 54), (13, 42)),
    # repeats end in 14, 60, 74, 97, begin in 15, 76; `<ending type="stop">` in 74, which nothing begins; ending 2 in 75
    'haydn/opus74no1/movement3.mxl': turns((1, 14), (1, 14), (15, 60), (15, 60), (61, 74), (61, 73), (75, 97), (76, 113)),
    # repeats end in 8, 28, 38, 62; endings that only stop in 38 and 62; ending 2 in 39 and 63; a repeat begins in 40
    'mozart/k458/movement2.mxl': turns(
        (1, 8), (1, 8), (9, 28), (9, 28), (29, 38), (29, 37), (39, 62), (40, 61), (63, 63)),
    # repeats end in 8, 28; fine in 20, dacapo in 40
    'schumann_clara/polonaise_op1n1.mxl': turns((1, 8), (1, 8), (9, 28), (9, 28), (29, 40), (1, 20)),
    # repeats of 1-8, 9-16, 17-24, 25-32; fine in 16, dacapo in 32
    'schumann_clara/polonaise_op1n2.mxl': turns(
        (1, 8), (1, 8), (9, 16), (9, 16), (17, 24), (17, 24), (25, 32), (25, 32), (1, 16)),
    # repeats of 1-8, 41-48; fine in 24, dacapo in 48
    'schumann_clara/polonaise_op1n3.mxl': turns((1, 8), (1, 8), (9, 48), (41, 48), (1, 24)),
    # repeats of 1-8, 9-16, 17-32, 33-40; fine in 16, dacapo in 40
    'schumann_clara/polonaise_op1n4.mxl': turns(
        (1, 8), (1, 8), (9, 16), (9, 16), (17, 32), (17, 32), (33, 40), (33, 40), (1, 16)),
}

# Other differences that are music21's: how many notes only we have, how many only it has, and why.
CUE_SIZE = ('notes with <type size="cue"> and without <cue/>: printed small, but played (MusicXML 4.0, cue); music21 takes '
            'the size for a cue')
CUE_CHORD = 'a chord of notes with <cue/>, which are not played (MusicXML 4.0, cue); music21 forgets it for chords'
STATED = {
    'schumann_robert/dichterliebe_no2.xml': (0, 4, CUE_CHORD),
    'schumann_robert/opus48no2.mxl': (0, 4, CUE_CHORD),
    'luca/gloria.xml': (1, 0, CUE_SIZE),
    'trecento/Fava_Dicant_nunc_iudei.xml': (4, 4, CUE_SIZE),
}

# What bandwright refuses, and why that is right.
REFUSED = {
    # drums alone: there is nothing to voice
    'demos/drum_sample.xml': 'no pitched notes',
}


def corpus():
    import music21
    return os.path.join(os.path.dirname(music21.__file__), 'corpus')


def chosen():
    """The files to compare, by the rule above."""
    top = corpus()
    names = set(ALSO)
    for folder, _, files in os.walk(top):
        inside = os.path.relpath(folder, top)
        own = []
        for file in sorted(files):
            name = os.path.join(inside, file)
            most = MOST_BYTES.get(file.rsplit('.', 1)[-1].lower())
            alone = any(word in name for word in LEFT_ALONE)
            if most and not alone and os.path.getsize(os.path.join(folder, file)) <= most:
                own.append(name)
        count = FROM_LARGE_FOLDER.get(inside, FROM_FOLDER)
        step = max(1, len(own) // count)
        names.update(own[::step][:count])
    return sorted(names)


def exact(value):
    """A length of music21 as a fraction; it rounds to 1/65535 at the finest."""
    return Fraction(value).limit_denominator(65535)


def expanded(part):
    """A part with its repeats played out, as music21 does it.

    Where a repeat ends that has no sign where it begins, music21 goes back to the beginning of the piece and plays what is
    between over and over; but a repeat begins where the last one ended. So that sign is put in.
    """
    from music21 import bar, stream
    measures = list(part.getElementsByClass(stream.Measure))
    ends = lambda m: isinstance(m.rightBarline, bar.Repeat)
    begins = lambda m: isinstance(m.leftBarline, bar.Repeat)
    if not any(map(ends, measures)):
        return part
    bracketed = {id(m) for b in part.recurse().getElementsByClass('RepeatBracket') for m in b.getSpannedElements()}
    for before, measure in zip(measures, measures[1:]):
        if ends(before) and not begins(measure) and id(measure) not in bracketed and id(before) not in bracketed:
            measure.leftBarline = bar.Repeat(direction='start')
    last = max(i for i, m in enumerate(measures) if ends(m))
    for measure in measures[last + 1:]:
        if begins(measure):
            measure.leftBarline = None
    return part.expandRepeats()


def score_text(path):
    """The bytes of a score, unpacked where it is packed."""
    if not path.endswith('.mxl'):
        with open(path, 'rb') as file:
            return file.read()
    with zipfile.ZipFile(path) as archive:
        container = ElementTree.fromstring(archive.read('META-INF/container.xml'))
        root = next(e for e in container.iter() if e.tag.endswith('rootfile'))
        return archive.read(root.get('full-path'))


def measure_lengths(path):
    """How far each measure of a file is filled in the fullest part, in quarters, by adding its durations up.

    music21 lays each part's measures end to end by themselves, so that parts drift apart where one of them is filled
    less, and counts some trills with forwards twice. The standard has the measures of all parts begin together.
    """
    lengths = []
    for part in ElementTree.fromstring(score_text(path)).iter('part'):
        divisions = Fraction(1)
        for index, measure in enumerate(part.findall('measure')):
            now = reach = Fraction(0)
            for element in measure:
                if element.tag == 'attributes' and element.find('divisions') is not None:
                    divisions = Fraction(element.findtext('divisions').strip())
                length = Fraction(element.findtext('duration', '0').strip()) / divisions
                if element.tag == 'note' and element.find('chord') is None or element.tag == 'forward':
                    now += length
                elif element.tag == 'backup':
                    now -= length
                reach = max(reach, now)
            if index == len(lengths):
                lengths.append(Fraction(0))
            lengths[index] = max(lengths[index], reach)
    return lengths


def outside_notes(path, order=None):
    """What music21 hears: main notes (onset, length, pitch) with how often, and graces by pitch."""
    from music21 import converter, stream
    score = converter.parse(path, forceSource=True)
    if isinstance(score, stream.Opus):
        raise ValueError('several pieces in one file')
    lengths = measure_lengths(path)
    for part in score.parts:
        for index, measure in enumerate(part.getElementsByClass(stream.Measure)):
            measure.editorial.place = index
    first = score.parts[0].getElementsByClass(stream.Measure)[0]
    full = exact(first.barDuration.quarterLength)
    score = score.toSoundingPitch()
    rows = [list(p.getElementsByClass(stream.Measure)) for p in score.parts]
    if order is None:
        rows = [list(expanded(p).getElementsByClass(stream.Measure)) for p in score.parts]
        order = [m.editorial.place for m in rows[0]]
        if any([m.editorial.place for m in row] != order for row in rows):
            raise ValueError('parts are played in different orders')
    else:
        rows = [[row[place] for place in order] for row in rows]
    # A measure at the beginning that is not full is the end of a bar, where the next does not fill it.
    lead = Fraction(0)
    if len(order) > 1 and 0 < lengths[0] < full and lengths[0] + lengths[order[1]] != full:
        lead = full - lengths[0]
    starts = [lead]
    for place in order:
        starts.append(starts[-1] + (lengths[place] or full))
    main, graces = collections.Counter(), collections.Counter()
    for row in rows:
        sounded = []
        for start, measure in zip(starts, row):
            for element in measure.recurse().notes:
                if {'Harmony', 'Unpitched', 'PercussionChord'} & set(element.classes):
                    continue
                if element.style.noteSize == 'cue':
                    continue
                onset = start + exact(element.getOffsetInHierarchy(measure))
                for note in element.notes if element.isChord else [element]:
                    if note.style.noteSize == 'cue':
                        continue
                    midi = int(note.pitch.ps + 0.5)
                    if element.duration.isGrace:
                        graces[midi] += 1
                    else:
                        tie = note.tie.type if note.tie else None
                        sounded.append((onset, exact(element.quarterLength), midi, tie))
        main.update(joined(sounded))
    return main, graces


def joined(notes):
    """Tied notes as one: by pitch, across voices. (music21's own way leaves chords apart that are tied in part.)"""
    told = {'stop': 0, 'continue': 0}
    done, waiting = [], collections.defaultdict(list)
    for onset, length, midi, tie in sorted(notes, key=lambda n: (n[0], n[2], told.get(n[3], 1))):
        if waiting[midi, onset]:
            place = waiting[midi, onset].pop()
            done[place][1] += length
        else:
            place = len(done)
            done.append([onset, length, midi])
        if tie in ('start', 'continue'):
            waiting[midi, onset + length].append(place)
    return [tuple(note) for note in done]


def own_notes(program, path):
    """What bandwright hears, and what it says; no notes where it refuses."""
    done = subprocess.run([program, 'read', path, '--json', '-'], capture_output=True, text=True)
    if done.returncode != 0:
        return None, None, done.stderr.strip()
    answer = json.loads(done.stdout)
    quarter = answer['ticks_per_quarter']
    main, graces = collections.Counter(), collections.Counter()
    for line in answer['lines'].values():
        for note in line:
            if note.get('grace'):
                graces[note['pitch']] += 1
            else:
                main[Fraction(note['onset'], quarter), Fraction(note['duration'], quarter), note['pitch']] += 1
    return main, graces, '; '.join(answer['warnings'])


def apart(ours, theirs):
    """Notes that only one side has; what differs by rounding alone is the same."""
    left, right = sorted((ours - theirs).elements()), sorted((theirs - ours).elements())
    near = lambda a, b: abs(a[0] - b[0]) <= ROUNDING and abs(a[1] - b[1]) <= ROUNDING and a[2] == b[2]
    for note in list(left):
        match = next((other for other in right if near(note, other)), None)
        if match:
            left.remove(note)
            right.remove(match)
    return left, right


def shown(notes):
    return ' '.join(f'{float(onset):g}+{float(length):g}:{midi}' for onset, length, midi in notes[:6])


def compare(job):
    """One file: its name, a word for how it went, how many notes, and what is to be said."""
    program, name = job
    path = os.path.join(corpus(), name)
    ours, own_graces, said = own_notes(program, path)
    if ours is None:
        why = REFUSED.get(name)
        return name, 'refused' if why and why in said else 'wrongly refused', 0, said
    try:
        with warnings.catch_warnings():
            warnings.simplefilter('ignore')
            theirs, graces = outside_notes(path, ORDERS.get(name))
    except Exception as error:  # whatever stops the judge stops the comparison, and is counted
        return name, 'not judged', 0, f'{type(error).__name__}: {error}'
    return verdict(name, ours, own_graces, theirs, graces, said)


def verdict(name, ours, own_graces, theirs, graces, said):
    left, right = apart(ours, theirs)
    count = sum(theirs.values())
    if own_graces != graces:
        more, fewer = (sorted((a - b).elements()) for a, b in ((own_graces, graces), (graces, own_graces)))
        return name, 'differs', count, f'graces: only ours {more}, only theirs {fewer}'
    if name in STATED:
        few, many, why = STATED[name]
        if (len(left), len(right)) == (few, many):
            return name, 'stated', count, why
    if left or right:
        return name, 'differs', count, f'only ours {len(left)}: {shown(left)}; only theirs {len(right)}: {shown(right)}; {said[:300]}'
    return name, 'same', count, ''


def self_test():
    """Whether a difference would be seen: notes lost, moved, held too long, a grace too many, ties and lengths."""
    one = collections.Counter([(Fraction(0), Fraction(1), 60), (Fraction(1), Fraction(1), 62)])
    none = collections.Counter()
    word = lambda ours, graces=none, name='x': verdict(name, ours, graces, one, none, '')[1]
    assert word(one) == 'same'
    assert word(collections.Counter(list(one)[:1])) == 'differs'
    moved = collections.Counter([(Fraction(1, 2), Fraction(1), 60), (Fraction(1), Fraction(1), 62)])
    assert word(moved) == 'differs'
    held = collections.Counter([(Fraction(0), Fraction(2), 60), (Fraction(1), Fraction(1), 62)])
    assert word(held) == 'differs'
    rounded = collections.Counter([(Fraction(1, 500), Fraction(1), 60), (Fraction(1), Fraction(1), 62)])
    assert word(rounded) == 'same'
    assert word(one, collections.Counter([60])) == 'differs'
    assert word(one + collections.Counter([(Fraction(9), Fraction(1), 60)]), name='luca/gloria.xml') == 'stated'
    assert word(one, name='luca/gloria.xml') == 'same'
    tied = joined([(Fraction(0), Fraction(1), 60, 'start'), (Fraction(1), Fraction(1), 60, 'stop'), (Fraction(2), Fraction(1), 60, None)])
    assert tied == [(0, 2, 60), (2, 1, 60)], tied
    assert turns((1, 2), (1, 3)) == [0, 1, 0, 1, 2]
    text = ('<score-partwise><part><measure><attributes><divisions>2</divisions></attributes><note><duration>3</duration></note>'
            '<note><chord/><duration>3</duration></note><backup><duration>1</duration></backup></measure><measure/></part></score-partwise>')
    with tempfile.NamedTemporaryFile('w', suffix='.xml') as file:
        file.write(text)
        file.flush()
        assert measure_lengths(file.name) == [Fraction(3, 2), 0]
    print('the check sees what it should')


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('--program', default='target/release/bandwright')
    parser.add_argument('--self-test', action='store_true')
    parser.add_argument('--names', nargs='*', help='these files alone')
    options = parser.parse_args()
    if options.self_test:
        return self_test()
    began = time.time()
    names = options.names or chosen()
    tally, notes, bad = collections.Counter(), 0, []
    with multiprocessing.Pool(os.cpu_count()) as pool:
        for name, word, count, said in pool.imap_unordered(compare, [(options.program, n) for n in names], chunksize=1):
            tally[word] += 1
            notes += count
            if word != 'same':
                print(f'{word}: {name}: {said}', flush=True)
            if word not in ('same', 'stated', 'refused'):
                bad.append(name)
    compared = tally['same'] + tally['stated'] + tally['refused']
    told = ', '.join(f'{count} {word}' for word, count in sorted(tally.items()))
    print(f'MusicXML in: {len(names)} files, {notes} notes: {told}; {time.time() - began:.0f} s')
    if bad or (not options.names and compared < FEWEST):
        sys.exit(f'MusicXML in: {len(bad)} files differ, or fewer than {FEWEST} were compared')


if __name__ == '__main__':
    main()
