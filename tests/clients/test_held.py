import signal
from threading import Thread

import pytest

from clients.cli.held import held


def test_ctrl_c_waits_for_the_end_of_the_block() -> None:
    done = []
    with pytest.raises(KeyboardInterrupt), held():
        signal.raise_signal(signal.SIGINT)
        done.append("the rest of the block")
    assert done == ["the rest of the block"]


def test_the_handler_is_put_back() -> None:
    before = signal.getsignal(signal.SIGINT)
    with held():
        assert signal.getsignal(signal.SIGINT) is not before
    assert signal.getsignal(signal.SIGINT) is before


def test_another_thread_has_nothing_to_hold() -> None:
    passed = []

    def work() -> None:
        with held():
            passed.append(signal.getsignal(signal.SIGINT))

    before = signal.getsignal(signal.SIGINT)
    thread = Thread(target=work)
    thread.start()
    thread.join()
    assert passed == [before]


def test_ctrl_c_that_is_ignored_stays_so() -> None:
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with held():
            signal.raise_signal(signal.SIGINT)
            assert signal.getsignal(signal.SIGINT) == signal.SIG_IGN
    finally:
        signal.signal(signal.SIGINT, before)
