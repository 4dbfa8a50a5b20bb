#!/usr/bin/env python3
"""The program's answers against another solver's, on the same model.

`voice --bars A-B --network FILE` writes the chords of some bars as a cost function network (the open
CFN JSON form) and tells what it makes of them: cost, lower bound, status. PyPI's pytoulbar2, which
shares nothing with the program, solves the network to the proven optimum. Then the cost must not be
under the optimum, the bound not over it, "optimal" must be so, and on nine excerpts of ten at least
the cost must equal the optimum. At least twenty excerpts must be proven.

Excerpts are bars of the demo, of chorales and of piano music (music21 corpus), for several bands, with and
without locks.

Usage: network_check.py [--program target/release/bandwright] [--work target/ci/networks]
                        [--seconds 60] [--self-test] [--solve FILE]
"""

import argparse
import concurrent.futures
import itertools
import json
import os
import pathlib
import subprocess
import sys
import time

import outside_checks as outside

ROOT = outside.ROOT
LEAST_PROVEN = 20
LEAST_EQUAL = 0.9
TRIO = """name = "Six winds"

[[part]]
name = "Clarinet 1"
instrument = "clarinet_bb"
players = { intermediate = 2 }

[[part]]
name = "Clarinet 2"
instrument = "clarinet_bb"
players = { second_year = 2 }

[[part]]
name = "Alto Sax"
instrument = "sax_alto"
players = { intermediate = 1 }

[[part]]
name = "Horn"
instrument = "horn"
players = { intermediate = 1 }

[[part]]
name = "Trombone"
instrument = "trombone"
players = { second_year = 2 }

[[part]]
name = "Tuba"
instrument = "tuba"
players = { intermediate = 1 }
"""

# Sketch, band, bars, lock (which of the program's own drafts is altered and locked, or None).
EXCERPTS = [
    ("harvest-lights", "six", "5-6", None), ("harvest-lights", "six", "21-22", None),
    ("harvest-lights", "thin", "13-13", None), ("harvest-lights", "thin", "38-38", None),
    ("harvest-lights", "demo", "9-9", None), ("harvest-lights", "demo", "45-45", None),
    ("bwv352", "six", "1-1", None), ("bwv353", "six", "2-2", None),
    ("bwv354", "thin", "3-3", None), ("bwv355", "six", "3-4", 0), ("bwv356", "thin", "4-4", 1),
    ("bwv357", "six", "2-3", None), ("bwv358", "small-marching", "2-2", None),
    ("bwv359", "six", "5-6", 2), ("bwv360", "thin", "5-5", None),
    ("mozart-k545-movement1_exposition", "six", "1-4", None),
    ("mozart-k545-movement1_exposition", "thin", "9-10", None),
    ("mozart-k545-movement1_exposition", "demo", "1-4", None),
    ("schumann_clara-polonaise_op1n1", "six", "3-4", 0),
    ("schumann_clara-polonaise_op1n1", "thin", "9-9", None),
    ("schumann_clara-polonaise_op1n3", "six", "5-6", None),
    ("verdi-laDonnaEMobile", "six", "9-12", None),
    ("verdi-laDonnaEMobile", "thin", "17-18", None),
    ("liliuokalani-aloha_oe", "six", "3-4", 1), ("liliuokalani-aloha_oe", "thin", "5-5", None),
    ("johnson_j_r-lift_every_voice", "six", "3-4", None),
    ("johnson_j_r-lift_every_voice", "small-marching", "5-5", None),
    ("johnson_j_r-lift_every_voice", "demo", "3-4", None),
    ("johnson_j_r-lift_every_voice", "large-marching", "3-3", None),
    ("harvest-lights", "thin", "38-41", None), ("harvest-lights", "medium-marching", "9-9", None),
    ("bwv361", "medium-marching", "1-2", None), ("bwv353", "thin", "1-4", None),
    ("schumann_clara-polonaise_op1n3", "demo", "5-6", None),
    ("verdi-laDonnaEMobile", "demo", "17-20", None),
    ("bwv352", "concert", "1-1", None), ("bwv354", "concert", "2-2", 0),
]


# ---------------------------------------------------------------- the other solver

def solve(path, seconds):
    """The best cost found, the bound, and whether it is proven; in thousandths of a point."""
    import pytoulbar2

    network = pytoulbar2.CFN(vac=1)
    network.Read(str(path))
    start = time.process_time()
    found = network.Solve(showSolutions=0, timeLimit=seconds)
    took = time.process_time() - start
    bound = network.GetDDualBound()
    best = None if found is None else found[1]
    # A search that ended by itself has proven its best.
    proven = best is not None and (took < seconds or bound >= best - 0.5)
    return {"best": best, "bound": bound, "proven": proven, "seconds": took}


def solved_apart(path, seconds):
    """The same in a process of its own, which cannot take this one along."""
    try:
        done = subprocess.run([sys.executable, __file__, "--solve", str(path), "--seconds",
                               str(seconds)], capture_output=True, text=True,
                              timeout=4 * seconds + 60)
        return json.loads(done.stdout.strip().splitlines()[-1])
    except (subprocess.TimeoutExpired, ValueError, IndexError):
        return {"best": None, "bound": None, "proven": False, "seconds": 0.0}


# ---------------------------------------------------------------- the form, by trying everything

def exhaustive(network):
    """The least cost of a small network, every assignment tried: a third opinion on the form."""
    names = list(network["variables"])
    places = [range(len(network["variables"][n])) for n in names]
    top = float(network["problem"]["mustbe"].lstrip("<"))
    best = top
    for values in itertools.product(*places):
        at = dict(zip(names, values))
        total = 0
        for function in network["functions"].values():
            total += table_cost(network, function, [at[v] for v in function["scope"]])
        best = min(best, total)
    return best


def table_cost(network, function, values):
    costs = function["costs"]
    if "defaultcost" not in function:
        place = 0
        for name, value in zip(function["scope"], values):
            place = place * len(network["variables"][name]) + value
        return costs[place]
    width = len(values) + 1
    for i in range(0, len(costs), width):
        if costs[i:i + width - 1] == values:
            return costs[i + width - 1]
    return function["defaultcost"]


SMALL = {
    "problem": {"name": "small", "mustbe": "<100000000"},
    "variables": {"p0_Clarinet_2_s0_bar1_0.000": ["C4", "F#5", "rest_after_Bb3", "fixed_rest"],
                  "y": ["p", "q", "r"], "n": ["n0", "n3", "n5"], "one": ["rest"]},
    "functions": {
        "f0": {"scope": ["p0_Clarinet_2_s0_bar1_0.000"], "costs": [3, -2, 100000000, 4]},
        "f1": {"scope": ["p0_Clarinet_2_s0_bar1_0.000", "y"],
               "costs": [1, 5, 2, 4, 1, 7, 0, 0, 0, 1, 1, 1]},
        "f2": {"scope": ["p0_Clarinet_2_s0_bar1_0.000", "y", "n"], "defaultcost": 100000000,
               "costs": [0, 0, 0, 0, 0, 1, 1, 0, 1, 2, 2, 0, 1, 0, 0, 4, 1, 1, 1, 2]},
        "f3": {"scope": ["n"], "costs": [0, 10, 3]},
        "f4": {"scope": ["y", "one"], "defaultcost": 0, "costs": [0, 0, 5]},
        "f5": {"scope": [], "costs": [7]},
    },
}


def self_test(folder):
    """The other solver reads the form as it is meant: negative costs, tables by tuples, constants."""
    path = folder / "small.cfn"
    path.write_text(json.dumps(SMALL))
    wanted = exhaustive(SMALL)
    found = solved_apart(path, 10)
    assert wanted == 15 and found["proven"] and round(found["best"]) == wanted, (wanted, found)


# ---------------------------------------------------------------- running

def run_excerpt(run, folder, sketches, row, seconds):
    name, band, bars, lock = row
    piece, sketch = sketches[name]
    place = f"{name} {bars} for {band}" + ("" if lock is None else ", locked")
    stem = f"{name}.{band}.{bars}" + ("" if lock is None else ".locked")
    roster = folder / "six.toml" if band == "six" else band
    target = folder / f"{stem}.json"
    more = []
    if lock is not None:
        run("voice", sketch, "--band", roster, "--out", folder / f"{stem}.mid", "--json", target,
            "--force")
        made = outside.make_lock(piece, outside.load(target), lock)
        if made is None:
            return place, None, "no lock can be made"
        locks = folder / f"{stem}.locks.mid"
        mid = outside.start_file(piece)
        for channel, (part, notes) in enumerate(made[0].items()):
            outside.write_track(mid, part, notes, channel)
        mid.save(locks)
        more = ["--locks", locks]
    network = folder / f"{stem}.cfn"
    network.unlink(missing_ok=True)
    begun = time.perf_counter()
    done = run("voice", sketch, "--band", roster, "--bars", bars, "--network", network, "--out",
               folder / f"{stem}.mid", "--json", target, "--force", *more)
    took = time.perf_counter() - begun
    answer = outside.load(target)
    if done.returncode != 0 or answer is None or not network.is_file():
        return place, None, f"status {done.returncode}: {done.stderr.strip()[-300:]}"
    text = json.loads(network.read_text())
    found = solved_apart(network, seconds)
    found.update(cost=round(answer["cost"] * 1000), lower=round(answer["lower_bound"] * 1000),
                 status=answer["status"], variables=len(text["variables"]),
                 size=network.stat().st_size, ours=took)
    return place, found, ""


def check(tally, place, found):
    cost, lower, best = found["cost"], found["lower"], found["best"]
    tally.check("our bound is not over our cost", place, lower <= cost, f"{lower} over {cost}")
    if best is not None:
        tally.check("our bound is not over the other's best", place, lower <= round(best),
                    f"{lower} over {best}")
    if found["bound"] is not None:
        # The other's bound is rounded up where it counts whole costs.
        tally.check("our cost is not under the other's bound", place, cost >= found["bound"] - 0.5,
                    f"{cost} under {found['bound']}")
    if found["proven"]:
        tally.check("our cost is not under the optimum", place, cost >= round(best),
                    f"{cost} under {best}")
        if found["status"] == "optimal":
            tally.check("what we call optimal is so", place, cost == round(best),
                        f"{cost}, optimum {best}")


def main():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--program", type=pathlib.Path,
                     default=ROOT / "target" / "release" / "bandwright")
    ask.add_argument("--work", type=pathlib.Path, default=ROOT / "target" / "ci" / "networks")
    ask.add_argument("--seconds", type=int, default=60, help="for the other solver, each excerpt")
    ask.add_argument("--self-test", action="store_true", help="only the form")
    ask.add_argument("--solve", type=pathlib.Path, help="solve one network and tell what was found")
    ask.add_argument("--only", default="", help="excerpts whose name holds this")
    args = ask.parse_args()
    if args.solve:
        print(json.dumps(solve(args.solve, args.seconds)))
        return 0
    args.work.mkdir(parents=True, exist_ok=True)
    self_test(args.work)
    if args.self_test:
        return 0
    (args.work / "six.toml").write_text(TRIO)
    pieces = [p for p in outside.chorales(10) + outside.others()]
    sketches = {"harvest-lights": (None, ROOT / "assets" / "demo" / "harvest-lights.mid")}
    for piece in pieces:
        path = args.work / f"{piece.name}.mid"
        outside.write_sketch(piece, path)
        sketches[piece.name] = (piece, path)
    run, tally = outside.Runner(args.program.resolve(), args.work), outside.Tally()
    rows = [r for r in EXCERPTS if args.only in f"{r[0]} {r[2]} {r[1]}"]
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        one = lambda row: run_excerpt(run, args.work, sketches, row, args.seconds)
        results = list(pool.map(one, rows))

    print(f"  {'excerpt':58} {'vars':>5} {'kB':>6} {'cost':>9} {'bound':>9} {'status':9} "
          f"{'optimum':>9} {'s':>6} {'ours':>6}")
    # Ours is the whole program: the piece read, planned and voiced, the excerpt solved, files written.
    proven = equal = 0
    for place, found, why in results:
        if not tally.check("the excerpt is solved and written", place, found is not None, why):
            continue
        check(tally, place, found)
        best = "none" if found["best"] is None else round(found["best"])
        if found["proven"]:
            proven += 1
            equal += best == found["cost"]
        mark = "" if found["proven"] else " (not proven)"
        print(f"  {place:58} {found['variables']:5} {found['size'] // 1000:6} {found['cost']:9} "
              f"{found['lower']:9} {found['status']:9} {best:>9} {found['seconds']:6.2f} "
              f"{found['ours']:6.2f}{mark}")
    solved = [found for _, found, _ in results if found is not None]
    other, ours = (sum(f[key] for f in solved) for key in ("seconds", "ours"))
    print(f"seconds in all: the other solver {other:.1f}, our whole program {ours:.1f} "
          f"(ratio {other / max(ours, 1e-9):.2f})")
    if not args.only:
        tally.check("at least twenty excerpts are proven", "all", proven >= LEAST_PROVEN, proven)
        tally.check("nine of ten answers are the optimum", "all", equal >= LEAST_EQUAL * proven,
                    f"{equal} of {proven}")
    for name, (passed, failed) in tally.by_name.items():
        print(f"  {name:52} {passed:6} passed {failed:6} failed")
    print(f"networks: {equal} of {proven} proven excerpts solved to the optimum; "
          f"{tally.passed} passed, {tally.failed} failed", flush=True)
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
