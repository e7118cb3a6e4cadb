"""Every public calculation and every result of the physics rooms, found by looking, not by a list.

A module with ``__all__`` offers what stands there; any other offers every name without a leading underscore.
"""

import importlib
import inspect
import pkgutil
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import redirect_stdout
from dataclasses import is_dataclass
from doctest import DocTestParser
from io import StringIO

ROOMS = ("spindle", "leadscrew", "threads", "accuracy", "work", "controls")


def _modules() -> Iterator:
    for room in ROOMS:
        package = importlib.import_module(f"machinelab.{room}")
        yield package
        for found in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
            if not found.name.rpartition(".")[2].startswith("_"):
                yield importlib.import_module(found.name)


def _offered(module) -> list[str]:
    # A tool that tries faults on purpose keeps its mutants beside the calculations.
    own = (name for name in vars(module) if not name.startswith("_") and "__mutmut_" not in name)
    return getattr(module, "__all__", list(own))


def _public(wanted) -> list:
    return [
        one
        for module in _modules()
        for name, one in sorted(vars(module).items())
        if wanted(one) and one.__module__ == module.__name__ and name in _offered(module)
    ]


def public_functions() -> list:
    return _public(inspect.isfunction)


def public_results() -> list:
    return _public(lambda one: inspect.isclass(one) and is_dataclass(one))


def readable_name(one) -> str:
    return f"{one.__module__.removeprefix('machinelab.')}.{one.__name__}"


def example_inputs(function) -> dict:
    """Return the inputs of the first call in a function's own example, the defaults with them."""
    signature, calls = inspect.signature(function), []

    def recorded(*args, **named):
        bound = signature.bind(*args, **named)
        bound.apply_defaults()
        calls.append(dict(bound.arguments))
        return function(*args, **named)

    names = {**vars(sys.modules[function.__module__]), function.__name__: recorded}
    with redirect_stdout(StringIO()):
        for line in DocTestParser().get_examples(function.__doc__):
            exec(compile(line.source, function.__name__, "single"), names)
    return calls[0]


def each_of(ones: Iterable, name: Callable = readable_name) -> Callable:
    """Make of a test about one thing a single test about all of them, which names those that fail.

    Some thousands of tests of a few lines each cost more in being called than in being run.
    """

    def decorated(test: Callable) -> Callable:
        def over_all():
            failed = []
            for one in ones:
                try:
                    test(one)
                except Exception as problem:
                    failed.append(f"{name(one)}: {problem}")
            assert not failed, "\n".join(failed)

        over_all.__name__, over_all.__doc__, over_all.__module__ = (
            test.__name__,
            test.__doc__,
            test.__module__,
        )
        return over_all

    return decorated
