from clients.cli.practice.watch import Stopwatch


class Hand:
    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


def test_it_counts_only_while_it_runs() -> None:
    hand = Hand()
    watch = Stopwatch(hand)
    hand.now += 50
    assert watch.read() == 0
    watch.run()
    hand.now += 10.25
    watch.hold()
    hand.now += 1_000
    watch.hold()  # held already: nothing changes
    assert watch.read() == 10.25
    watch.run()
    hand.now += 1.5
    watch.run()  # running already: nothing is lost
    assert watch.read() == 11.75
    assert watch.take() == 11.75


def test_passes_follow_one_another_without_a_gap() -> None:
    hand = Hand()
    watch = Stopwatch(hand)
    watch.run()
    taken = []
    for seconds in (41.2, 30.0, 0.0, 47.8):
        hand.now += seconds
        taken.append(watch.take())
    assert taken == [41.2, 30.0, 0.0, 47.8]
