"""Chances of causes in parts of the built-in network, by pgmpy's variable elimination.

Reads data/*.toml by itself, builds causes, traces and findings as three layers of a
Bayesian network with tabular distributions, and writes sub_networks.toml beside this
file. With "time" and three lists of keys (causes, present, absent) it answers one
question and says how long that took. Needs pgmpy 1.x.
"""

import itertools
import logging
import pathlib
import random
import sys
import time
import tomllib
import warnings

warnings.filterwarnings("ignore")
logging.disable(logging.WARNING)

import pgmpy  # noqa: E402
from pgmpy.factors.discrete import TabularCPD  # noqa: E402
from pgmpy.inference import VariableElimination  # noqa: E402
from pgmpy.models import DiscreteBayesianNetwork  # noqa: E402

HERE = pathlib.Path(__file__).parent
DATA = HERE.parent.parent / "data"
STEP = {"nearly always": 0.9, "likely": 0.6, "possible": 0.25, "rare": 0.05}
PRIOR = {"common": 0.08, "usual": 0.04, "uncommon": 0.015, "rare": 0.004}


def rows(name, key):
    return {row["key"]: row for row in tomllib.loads((DATA / name).read_text())[key]}


CAUSES, FINDINGS, TESTS = rows("causes.toml", "cause"), rows("findings.toml", "finding"), rows("tests.toml", "test")


def traces(cause):
    """Name of each trace, how often it is made, and what it shows."""
    by = {}
    for sign in CAUSES[cause]["signs"]:
        by.setdefault(sign.get("through", sign["finding"]), []).append((sign["finding"], STEP[sign["step"]]))
    for carrier, shows in by.items():
        made = max(s for _, s in shows) / 0.95
        yield f"{cause}|{carrier}", made, [(f, s / made) for f, s in shows]
    for key, test in TESTS.items():
        if cause in test["positive"]:
            yield f"{cause}|{key}", test["positive"][cause], [(key, 1.0)]


def leak(effect):
    return FINDINGS[effect]["leak"] if effect in FINDINGS else TESTS[effect]["otherwise"]


def network(causes, present, absent):
    seen = present + absent
    net, cpds = DiscreteBayesianNetwork(), []
    links = {effect: [] for effect in seen}
    net.add_nodes_from(causes + seen)
    for cause in causes:
        p = PRIOR[CAUSES[cause]["prior"]]
        cpds.append(TabularCPD(cause, 2, [[1 - p], [p]]))
        for name, made, shows in traces(cause):
            shows = [(f, s) for f, s in shows if f in seen]
            if not shows:
                continue
            net.add_edge(cause, name)
            cpds.append(TabularCPD(name, 2, [[1, 1 - made], [0, made]], [cause], [2]))
            for effect, s in shows:
                net.add_edge(name, effect)
                links[effect].append((name, s))
    for effect, parents in links.items():
        none = []
        for on in itertools.product((0, 1), repeat=len(parents)):
            quiet = 1 - leak(effect)
            for active, (_, s) in zip(on, parents):
                quiet *= 1 - s if active else 1
            none.append(quiet)
        names = [name for name, _ in parents]
        cpds.append(TabularCPD(effect, 2, [none, [1 - q for q in none]], names, [2] * len(names)))
    net.add_cpds(*cpds)
    assert net.check_model()
    evidence = {e: 1 for e in present} | {e: 0 for e in absent}
    return net, evidence


def posterior(causes, present, absent):
    net, evidence = network(causes, present, absent)
    ask = VariableElimination(net)
    return [float(ask.query([c], evidence, show_progress=False).values[1]) for c in causes]


def timed(causes, present, absent):
    """Prints the shortest time of three, without building the network, and the chances."""
    net, evidence = network(causes, present, absent)
    ask, times = VariableElimination(net), []
    for _ in range(3):
        start = time.perf_counter()
        chances = [float(ask.query([c], evidence, show_progress=False).values[1]) for c in causes]
        times.append(time.perf_counter() - start)
    print(min(times), *chances)


def main():
    random.seed(20)
    out = [f"# Made by sub_networks.py with pgmpy {pgmpy.__version__}.", ""]
    for _ in range(24):
        causes = sorted(random.sample(sorted(CAUSES), 7))
        shown = sorted({s["finding"] for c in causes for s in CAUSES[c]["signs"]})
        asked = random.sample(shown, min(8, len(shown)))
        asked += random.sample(sorted(t for t in TESTS if set(causes) & set(TESTS[t]["positive"])), 2)
        cut = random.randint(1, 6)
        present, absent = asked[:cut], asked[cut:]
        chances = posterior(causes, present, absent)
        out += ["[[case]]", f"causes = {causes}", f"present = {present}", f"absent = {absent}", f"chances = {chances}", ""]
    (HERE / "sub_networks.toml").write_text("\n".join(out))


if sys.argv[1:2] == ["time"]:
    timed(*(arg.split(",") for arg in sys.argv[2:5]))
else:
    main()
