"""Data classes that are made when they are first needed are what `dataclasses.dataclass` makes of them."""

import copy
import dataclasses
import inspect
import pickle
import subprocess
import sys
import threading

import pytest

from ridelog import lazy
from ridelog.answer.ride import Answer


@lazy.dataclass(frozen=True)
class Base:
    """A class with a default."""

    first: int
    second: list[int] = dataclasses.field(default_factory=list)


@lazy.dataclass(frozen=True)
class Derived(Base):
    """One that adds a field."""

    third: str = "c"


@lazy.dataclass
class Changing:
    """One that is not frozen, and checks itself."""

    value: int

    def __post_init__(self) -> None:
        """Refuse what is below nothing."""
        if self.value < 0:
            raise ValueError("below nothing")


class Plain(Derived):
    """No data class itself."""


def _twin(name):
    """The same fields, made at once by the standard library."""
    fields = [("first", int), ("second", list, dataclasses.field(default_factory=list)), ("third", str, "c")]
    return dataclasses.make_dataclass(name, fields, frozen=True)


def test_it_is_called_as_its_fields_say_before_it_is_made():
    """As `help` shows it."""

    @lazy.dataclass(frozen=True)
    class Unmade:
        """Never made before it is looked at."""

        first: int
        second: str = "b"

    @lazy.dataclass
    class Called:
        """One whose objects are called."""

        value: int

        def __call__(self, more: int) -> int:
            """Add to it."""
            return self.value + more

    assert str(inspect.signature(Unmade)) == "(first: int, second: str = 'b') -> None"
    assert str(inspect.signature(Called(1))) == "(more: int) -> int"
    assert str(inspect.signature(Answer)).startswith("(*, ridelog: str")


def test_it_is_what_the_standard_library_makes():
    made, twin = Derived(1, third="x"), _twin("Derived")(1, third="x")
    assert repr(made) == repr(twin)
    assert dataclasses.asdict(made) == dataclasses.asdict(twin)
    assert [each.name for each in dataclasses.fields(Derived)] == [each.name for each in dataclasses.fields(twin)]
    assert made == Derived(1, [], "x") != Derived(2, [], "x")
    assert dataclasses.replace(made, first=3) == Derived(3, [], "x")
    assert Derived.__match_args__ == ("first", "second", "third")
    with pytest.raises(dataclasses.FrozenInstanceError):
        made.first = 2
    with pytest.raises(TypeError, match="missing 1 required positional argument"):
        Derived()
    assert Plain(1) == Plain(1)
    assert isinstance(Plain(1), Base)


def test_one_that_changes_and_checks_itself_does():
    changing = Changing(1)
    changing.value = 2
    assert changing == Changing(2)
    with pytest.raises(ValueError, match="below nothing"):
        Changing(-1)
    with pytest.raises(TypeError, match="unhashable"):
        hash(changing)


def test_it_is_known_for_a_data_class_before_it_is_made():
    @lazy.dataclass(frozen=True)
    class Untouched:
        """Nobody has made one."""

        number: float = 1.0

    assert "__init__" not in vars(Untouched)
    assert dataclasses.is_dataclass(Untouched)
    assert "__init__" in vars(Untouched)


def test_it_is_copied_and_unpickled_where_none_was_made_yet():
    assert copy.copy(Derived(1)) == copy.deepcopy(Derived(1)) == Derived(1)
    code = (
        "import pickle, sys; held = pickle.loads(sys.stdin.buffer.read())\n"
        "print(held == type(held)(5.0, 4.0), held)\ntry: held.what = ''\nexcept AttributeError: print('frozen')"
    )
    from ridelog.uncertain.quantity import Quantity

    done = subprocess.run(
        [sys.executable, "-c", code], input=pickle.dumps(Quantity(5.0, 4.0)), capture_output=True, check=True
    )
    told = done.stdout.decode().split()
    assert told[0] == "True"
    assert told[-1] == "frozen"


def test_many_threads_may_need_it_first_at_once():
    for _ in range(20):

        @lazy.dataclass(frozen=True)
        class Needed:
            """By all of them."""

            number: int
            other: str = "b"

        found, ready = [], threading.Barrier(8)

        def need(kind=Needed, found=found, ready=ready):
            ready.wait()
            found.append(kind(1))

        threads = [threading.Thread(target=need) for _ in range(8)]
        for each in threads:
            each.start()
        for each in threads:
            each.join()
        assert found == [Needed(1)] * 8


def test_a_class_of_its_own_beginning_is_made_at_once():
    @lazy.dataclass
    class Own:
        """Begins by itself."""

        number: int

        def __init__(self) -> None:
            """One."""
            self.number = 1

    assert repr(Own()).endswith("Own(number=1)")
