"""Does looking ahead change the answer, and is the changed answer better?

For random racks: the best three passes are compared with few samples; where that changes the answer,
the new and the old first pass are compared again with many fresh samples (another seed, so that the
choice and the judgement share no luck).

Run: python tests/benchmarks/bench_look_ahead.py CARD RACKS [SAMPLES]
"""

from __future__ import annotations

import sys

import numpy as np

from patterns.card_file import shipped_card
from solver.advice import advise
from solver.ahead.incoming import incoming
from solver.ahead.look_ahead import look_ahead
from solver.ahead.paired import compare
from solver.ahead.path import Path
from solver.deals import DealWish, deal, question_of
from solver.rounds import PASS_SIZE, sure_to_follow
from solver.stopping import Stopper

SEED, JUDGE_SEED, JUDGE_SAMPLES = 41, 42, 100


def main() -> None:
    card, racks = shipped_card(sys.argv[1]), int(sys.argv[2])
    samples = int(sys.argv[3]) if len(sys.argv) > 3 else 24
    changed, gains = 0, []
    for index in range(racks):
        question = question_of(DealWish(card, SEED, 1), deal(SEED, index))
        advice = advise(question)
        passes = [advice.passed, *(other.passed for other in advice.runner_ups)]
        ahead = look_ahead(question, passes, samples, SEED, Stopper())
        if ahead.chosen:
            changed += 1
            later = sure_to_follow(question.round)
            rows = []
            for sample in range(JUDGE_SAMPLES):
                exchanges = [(round_, PASS_SIZE) for round_ in (question.round, *later)]
                now, *then = incoming(question, exchanges, JUDGE_SEED, sample)
                rows.append(
                    [
                        Path.start(question).exchange(passed, now).play(later, then, Stopper()).value()
                        for passed in (passes[0], passes[ahead.chosen])
                    ]
                )
            differences = np.array(rows)[:, 1] - np.array(rows)[:, 0]
            gains.append(float(differences.mean()))
            error = compare(np.array(rows))[1]
            print(
                f"rack {index}: gain {gains[-1]:+.4f} (error {max(each.error for each in error):.4f})",
                file=sys.stderr,
            )
    print(f"{sys.argv[1]}: {racks} racks, {samples} samples, seed {SEED}: answer changed on {changed}")
    if gains:
        mean = float(np.mean(gains))
        error = float(np.std(gains, ddof=1) / np.sqrt(len(gains))) if len(gains) > 1 else float("inf")
        print(
            f"mean gain where changed {mean:+.5f} expected hands (error {error:.5f}),"
            f" better on {sum(gain > 0 for gain in gains)}"
        )


if __name__ == "__main__":
    main()
