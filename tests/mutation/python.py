"""One change at a time in a Python file, by the operators of Cosmic Ray.

It is an extra of its own: ``pip install '.[mutation]'``.
"""

from collections.abc import Iterator

from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.plugins import get_operator

from .mutant import Mutant, changed, each_once

# Its other operators put, say, a power in place of a sum: any test notices, and the score would flatter.
_OPERATORS = (
    *("AddNot", "ReplaceAndWithOr", "ReplaceOrWithAnd", "ReplaceTrueWithFalse", "ReplaceFalseWithTrue"),
    *("NumberReplacer", "ZeroIterationForLoop", "ReplaceContinueWithBreak", "ReplaceBreakWithContinue"),
    *("ReplaceUnaryOperator_Delete_Not", "ReplaceUnaryOperator_Delete_USub"),
    *(
        f"ReplaceBinaryOperator_{pair}"
        for pair in (
            *("Add_Sub", "Sub_Add", "Mul_FloorDiv", "Div_Mul", "FloorDiv_Mul", "Mod_FloorDiv", "Pow_Mul"),
            *("LShift_RShift", "RShift_LShift", "BitAnd_Add"),
        )
    ),
    *(
        f"ReplaceComparisonOperator_{pair}"
        for pair in (
            *("Eq_NotEq", "NotEq_Eq", "Is_IsNot", "IsNot_Is", "Lt_LtE", "Lt_GtE", "LtE_Lt", "LtE_Gt"),
            *("Gt_GtE", "Gt_LtE", "GtE_Gt", "GtE_Lt"),
        )
    ),
)


def python_mutants(file: str, text: str) -> list[Mutant]:
    """Every mutant of a Python file."""
    found = each_once(mutant for name in _OPERATORS for mutant in _mutants(file, text, name))
    return sorted(found, key=lambda mutant: (mutant.line, mutant.becomes))


def _mutants(file: str, text: str, name: str) -> Iterator[Mutant]:
    operator = get_operator(f"core/{name}")()
    times = sum(1 for node in ast_nodes(get_ast(text)) for _ in operator.mutation_positions(node))
    for occurrence in range(times):
        new = mutate_code(text, operator, occurrence)
        if new is not None and new != text:
            yield changed(file, text, new)
