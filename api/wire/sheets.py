"""Answer keys: what `POST /v1/sheets` takes and gives, and what `POST /v1/sheets/pages` makes files of."""

from __future__ import annotations

from enum import Enum
from typing import Annotated

from pydantic import AfterValidator, ConfigDict, Field, SkipValidation

from api.settings import DEFAULT_EFFORT
from api.wire.advice import DEFAULT_CARD, ArrivalsBody, DrillBody, Effort
from api.wire.base import Answer, Request, Seed, rounded
from api.wire.cards import CardAsWritten
from api.wire.deals import DealChoice
from api.wire.limits import LimitsBody, Text, Tiles
from patterns.card_file import MAX_NAME
from patterns.rack import RACK_SIZES
from patterns.tiles import Tile
from solver.advice import Closeness
from solver.deals import Difficulty
from solver.rounds import PASS_SIZE, Round

MAX_RACKS = 50
MAX_PROBLEMS = 500
# A PDF takes about a tenth of a second and two megabytes for each.
MAX_PRINTED = 100
MAX_SENTENCE = 1_000
RUNNER_UPS, KEPT, GIVEN_UP = 2, 3, 2
_PLAIN = r"^[^\x00-\x1f\x7f]*$"

_Round = Annotated[Round, Field(strict=False)]
_Tile = Annotated[Tile, Field(strict=False)]
_Line = Annotated[str, Field(max_length=MAX_SENTENCE, pattern=_PLAIN)]
_Name = Annotated[str, Field(min_length=1, max_length=MAX_NAME, pattern=_PLAIN)]
_Worth = Annotated[float, Field(allow_inf_nan=False, ge=0, le=1e9), AfterValidator(rounded)]
_Reach = Annotated[float, Field(allow_inf_nan=False, ge=0, le=1), AfterValidator(rounded)]
_Count = Annotated[int, Field(ge=0, le=2**63)]
_Pass = Annotated[list[_Tile], Field(max_length=PASS_SIZE)]
_Number = Annotated[int, Field(ge=1, le=1_000_000, description="The number of the problem")]


class RackBody(Request):
    """A rack of one's own, and its round if that is another than the sheet's."""

    rack: Tiles
    round: _Round | None = Field(None, description="null: the round of the sheet")


# Read by `api.convert.sheets`, so that the faults of all racks are told in one go.
RackAsWritten = SkipValidation[Text | Annotated[list[Text], Field(max_length=100)] | RackBody]


class SheetRequest(DealChoice):
    """Racks of one's own, or racks dealt from a seed, all of them to be answered."""

    racks: Annotated[list[RackAsWritten], Field(min_length=1, max_length=MAX_RACKS)] | None = Field(
        None, description="Racks of one's own; the members for dealing are then not allowed"
    )
    round: _Round = Field(Round.FIRST_RIGHT, description="Of every problem; difficulty is measured in it")
    drill: DrillBody | None = Field(None, description="null: a table of four")
    card: CardAsWritten = Field(DEFAULT_CARD)
    arrivals: ArrivalsBody | None = Field(None, description="null: the defaults of the round")
    limits: LimitsBody = Field(
        default_factory=lambda: LimitsBody(),
        description="Of every pass; no tiles can be named, as no one rack has them",
    )
    effort: Effort = DEFAULT_EFFORT
    key: bool = Field(
        default=True, description="Whether to answer; without, racks are checked and listed, the key is empty"
    )


class _Part(Request):
    """A part of a sheet: given by one operation, taken by the other."""

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True)


class SheetCard(_Part):
    """The card."""

    name: _Name
    title: _Name


class SheetVersions(_Part):
    """What computed the key."""

    threepass: _Name
    ortools: _Name


class SheetProblem(_Part):
    """One rack to choose from."""

    number: _Number
    index: _Count | None = Field(description="With the seed, names the deal; null for a rack of one's own")
    rack: Annotated[list[_Tile], Field(min_length=RACK_SIZES[0], max_length=RACK_SIZES[1])]
    round: _Round


class SheetRunnerUp(_Part):
    """Another pass and what it costs."""

    passed: _Pass = Field(validation_alias="pass", serialization_alias="pass")
    gap: _Worth = Field(description="Expected hands that it costs against the best")


class SheetChoice(_Part):
    """The best pass of one number of own tiles, where the round leaves a choice."""

    give: int = Field(ge=0, le=PASS_SIZE)
    blind: int = Field(ge=0, le=PASS_SIZE)
    passed: _Pass = Field(validation_alias="pass", serialization_alias="pass")
    gap: _Worth = Field(description="Expected hands that it costs against the best number")


class SheetHand(_Part):
    """A hand kept within reach."""

    name: _Name
    family: _Name
    reach: _Reach
    tiles_away: int = Field(ge=0, le=14)


class SheetLoss(_Part):
    """A hand made less likely."""

    name: _Name
    family: _Name
    reach_before: _Reach
    reach: _Reach


class SheetAnswer(_Part):
    """The answer to one problem."""

    number: _Number
    passed: _Pass = Field(validation_alias="pass", serialization_alias="pass")
    blind: int = Field(ge=0, le=PASS_SIZE, description="Incoming tiles that go on unseen")
    expected_hands: _Worth
    proved: bool = Field(description="Whether no pass is worth more, to within the solver's resolution")
    gap: _Worth | None = Field(description="The runner-up's gap; null where there is none")
    call: Annotated[Closeness, Field(strict=False)] | None = Field(description="How close it is")
    runner_ups: Annotated[list[SheetRunnerUp], Field(max_length=RUNNER_UPS)]
    by_number: Annotated[list[SheetChoice], Field(max_length=PASS_SIZE + 1)]
    hands: Annotated[list[SheetHand], Field(max_length=KEPT)]
    given_up: Annotated[list[SheetLoss], Field(max_length=GIVEN_UP)]
    sentence: _Line


class SheetBody(_Part):
    """Problems and their key."""

    seed: Seed | None = Field(description="null: racks of one's own")
    card: SheetCard
    round: _Round
    drill: DrillBody | None
    arrivals: ArrivalsBody | None
    limits: Annotated[list[_Line], Field(max_length=1_000, description="The limits in words")]
    versions: SheetVersions
    difficulty: Annotated[Difficulty, Field(strict=False)] | None
    problems: Annotated[list[SheetProblem], Field(max_length=MAX_PROBLEMS)]
    key: Annotated[
        list[SheetAnswer],
        Field(max_length=MAX_PROBLEMS, description="One answer a problem, in order, or none at all"),
    ]
    complete: bool = Field(description="Whether as many problems were found as were wanted")
    tried: _Count = Field(description="Deals tried, or racks of one's own")


class SheetsAnswer(Answer):
    """The sheet."""

    sheet: SheetBody


class Form(Enum):
    """Forms of a file."""

    HTML = "html"
    PDF = "pdf"
    CSV = "csv"


class Part(Enum):
    """Parts of a sheet, each a document of its own."""

    PROBLEMS = "problems"
    KEY = "key"


class Paper(Enum):
    """Sizes of paper."""

    A4 = "a4"
    LETTER = "letter"


class PagesRequest(Request):
    """A sheet to make a file of, and which."""

    sheet: SheetBody
    format: Annotated[Form, Field(strict=False)]
    part: Annotated[Part, Field(strict=False)]
    paper: Annotated[Paper, Field(strict=False)] = Paper.A4
