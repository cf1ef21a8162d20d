"""The parsers of racks, cards and records under Atheris, guided by which of their lines are reached.

Needs the extra `fuzz`. Run from the project's folder:
    python tests/benchmarks/fuzz_parsers.py --seeds FOLDER
    python tests/benchmarks/fuzz_parsers.py -runs=1000000 -seed=1 -timeout=1 -rss_limit_mb=1024 FOLDER
The first writes good inputs to begin with. The other options, and what is printed, are those of libFuzzer. A
parser may refuse with FaultyInputError, and a body with NotJsonError; anything else is a failure, and its
input is written to a file.
"""

import json
import sys
from pathlib import Path

import atheris

# Run as a file, so that instrumenting begins before anything of ours is imported.
sys.path.insert(0, str(Path(__file__).parents[2]))
with atheris.instrument_imports(include=["patterns", "api.answers", "api.reading"]):
    from api.answers.cards import CardShelf
    from api.answers.reviews import records_of
    from api.reading import NotJsonError, parse_json
    from patterns.card_file import card_from_toml, read_draft
    from patterns.faults import FaultyInputError
    from patterns.rack import parse_rack
    from tests.benchmarks.cases import RACK, RECORD, TOML

_SHELF = CardShelf(2)
_FORM = {"card": {"name": "c"}, "hand": [{"name": "h", "family": "f", "groups": "np*4 (n+5)q*4 flower*6"}]}
# The first byte says which parser gets the rest.
_SEEDS = (RACK, TOML, json.dumps(_FORM), json.dumps({"records": [RECORD]}), json.dumps(RACK.split()))


def one(data: bytes) -> None:
    """Give one input to one parser."""
    if not data:
        return
    kind, body = data[0] % len(_SEEDS), data[1:]
    text = body.decode("utf-8", "surrogateescape")
    try:
        match kind:
            case 0:
                parse_rack(text)
            case 1:
                card_from_toml(text, "a.toml")
            case 2:
                read_draft(parse_json(body)).card()
            case 3:
                records_of(parse_json(body), _SHELF)
            case _:
                written = parse_json(body)
                parse_rack(written if isinstance(written, list) else [written])
    except (FaultyInputError, NotJsonError):
        pass


def main() -> None:
    """Write the seeds, or fuzz."""
    if sys.argv[1:2] == ["--seeds"]:
        folder = Path(sys.argv[2])
        folder.mkdir(parents=True, exist_ok=True)
        for kind, seed in enumerate(_SEEDS):
            (folder / str(kind)).write_bytes(bytes([kind]) + seed.encode())
        return
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
