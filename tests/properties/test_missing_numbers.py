"""A missing number among others: its own result is missing, and its neighbour's is as if it were alone."""

from dataclasses import fields, is_dataclass
from math import nan

import numpy as np
import pytest
from physics_rooms import example_inputs, public_functions, readable_name

from machinelab.worked.handbook import entry


def keeps_what_is_missing(function) -> bool:
    described = entry(function)
    told = " ".join(described.sections.get("Range", "").split())
    # One figure of many passes has no neighbour.
    return "NaN in gives NaN out" in told and described.returned.type != "float"


KEEPING = [function for function in public_functions() if keeps_what_is_missing(function)]


def figures(result) -> dict:
    if is_dataclass(result):
        return {field.name: getattr(result, field.name) for field in fields(result)}
    return {"the result": result}


@pytest.mark.parametrize("function", KEEPING, ids=readable_name)
def test_a_missing_number_leaves_its_neighbour_as_it_was(function):
    inputs = example_inputs(function)
    alone = figures(function(**inputs))
    for name, one in entry(function).parameters.items():
        if not one.type.startswith("float or array") or np.ndim(inputs[name]):
            continue
        beside = figures(function(**inputs | {name: np.array([[nan], [inputs[name]]])}))
        missing = 0
        for figure, values in beside.items():
            if np.ndim(values) < 2:
                continue
            assert values.dtype != object, f"{figure} holds something that is no number: {values}"
            missing += np.isnan(values[..., 0, :]).any()
            neighbour = np.squeeze(values[..., 1, :])
            np.testing.assert_allclose(neighbour, alone[figure], rtol=1e-12, err_msg=f"{figure}({name})")
        assert missing, f"nothing is missing where {name} is"
