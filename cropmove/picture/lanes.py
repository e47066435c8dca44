"""Eight numbers at a time: the few vector operations that the inner loops are built from.

Plain loops serve where the compiler turns them into vectors by itself. In sums it does not see
that they can stay in registers: written with these operations the two innermost ran 1.4 and 2.5
times as fast as the best plain loops tried, on a processor with AVX2. With eight rows in a vector
from first to last, and the coefficients of reading and writing kept in registers too, a frame took
two thirds of the time of one in which these two alone were written so. Each operation is spelled in
the compiler's portable vector language, not for one processor: where a processor has no vectors of
eight the compiler makes do with shorter ones, so no second version is shipped. The plain twins that
say what is meant are in `tests/picture/test_lanes.py`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from llvmlite import ir
from numba.core import types
from numba.extending import intrinsic, models, register_model

__all__ = [
    "WIDTH",
    "item",
    "load",
    "load_bytes",
    "multiply",
    "multiply_add",
    "prefetch",
    "root",
    "splat",
    "store",
    "store_codes",
    "transposed",
    "where_below",
]

WIDTH = 8

Built = tuple[Any, Callable[..., Any]]
_INT = ir.IntType(32)
_EIGHT = ir.VectorType(ir.FloatType(), WIDTH)
_NOTHING = ir.Constant(_EIGHT, ir.Undefined)


class _LanesType(types.Type):
    """What numba calls eight float32 numbers held together; they live only inside loops."""

    def __init__(self) -> None:
        super().__init__(name="cropmove_lanes")


@register_model(_LanesType)
class _LanesModel(models.PrimitiveModel):
    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, _EIGHT)


_lanes = _LanesType()


def _spot(context: Any, builder: Any, kind: Any, array: Any, index: Any, vector: Any) -> Any:
    """A pointer to the vector that begins at an index of an array."""
    data = context.make_array(kind)(context, builder, array).data
    return builder.bitcast(builder.gep(data, [index]), vector.as_pointer())


def _picked(builder: Any, a: Any, b: Any, places: list[int]) -> Any:
    """The elements of `a` followed by those of `b`, at the places given."""
    mask = ir.Constant(ir.VectorType(_INT, len(places)), places)
    return builder.shuffle_vector(a, b, mask)


@intrinsic
def item(_: Any, array: Any, index: Any) -> Built:
    """The number at an index of an array: as indexing is, for indices that are never negative."""

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        data = context.make_array(signature.args[0])(context, builder, args[0]).data
        return builder.load(builder.gep(data, [args[1]]))

    return array.dtype(array, types.intp), build


@intrinsic
def load(_: Any, array: Any, index: Any) -> Built:
    """Eight numbers of a float32 array from an index on."""

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        spot = _spot(context, builder, signature.args[0], args[0], args[1], _EIGHT)
        return builder.load(spot, align=4)

    return _lanes(array, types.intp), build


@intrinsic
def load_bytes(_: Any, array: Any, index: Any) -> Built:
    """Eight bytes of an array from an index on, as numbers."""
    bytes_ = ir.VectorType(ir.IntType(8), WIDTH)

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        spot = _spot(context, builder, signature.args[0], args[0], args[1], bytes_)
        whole = builder.zext(builder.load(spot, align=1), ir.VectorType(_INT, WIDTH))
        return builder.sitofp(whole, _EIGHT)

    return _lanes(array, types.intp), build


@intrinsic
def store_codes(_: Any, array: Any, index: Any, value: Any) -> Built:
    """Put eight numbers, cut to whole ones, into an array of codes of 8 or 16 bits."""
    codes = ir.VectorType(ir.IntType(array.dtype.bitwidth), WIDTH)

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        spot = _spot(context, builder, signature.args[0], args[0], args[1], codes)
        whole = builder.fptosi(args[2], ir.VectorType(_INT, WIDTH))
        builder.store(builder.trunc(whole, codes), spot, align=array.dtype.bitwidth // 8)
        return context.get_dummy_value()

    return types.void(array, types.intp, _lanes), build


@intrinsic
def store(_: Any, array: Any, index: Any, value: Any) -> Built:
    """Put eight numbers into a float32 array from an index on."""

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        spot = _spot(context, builder, signature.args[0], args[0], args[1], _EIGHT)
        builder.store(args[2], spot, align=4)
        return context.get_dummy_value()

    return types.void(array, types.intp, _lanes), build


@intrinsic
def splat(_: Any, number: Any) -> Built:
    """One float32 number eight times."""

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        first = builder.insert_element(_NOTHING, args[0], ir.Constant(_INT, 0))
        return _picked(builder, first, _NOTHING, [0] * WIDTH)

    return _lanes(types.float32), build


@intrinsic
def multiply(_: Any, a: Any, b: Any) -> Built:
    """``a·b``."""

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return builder.fmul(*args)

    return _lanes(_lanes, _lanes), build


@intrinsic
def multiply_add(_: Any, a: Any, b: Any, c: Any) -> Built:
    """``a·b + c``, rounded only once where the processor can."""

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        product = builder.fmul(args[0], args[1], flags=("contract",))
        return builder.fadd(product, args[2], flags=("contract",))

    return _lanes(_lanes, _lanes, _lanes), build


@intrinsic
def where_below(_: Any, a: Any, limit: Any, b: Any, c: Any) -> Built:
    """The numbers of `b` where those of `a` are below those of `limit`, and else of `c`."""

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        below = builder.fcmp_ordered("<", args[0], args[1])
        return builder.select(below, args[2], args[3])

    return _lanes(*[_lanes] * 4), build


@intrinsic
def root(_: Any, a: Any) -> Built:
    """The square roots."""

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        kind = ir.FunctionType(_EIGHT, [_EIGHT])
        function = builder.module.declare_intrinsic("llvm.sqrt.v8f32", (), kind)
        return builder.call(function, args)

    return _lanes(_lanes), build


@intrinsic
def transposed(_: Any, a: Any, b: Any, c: Any, d: Any, e: Any, f: Any, g: Any, h: Any) -> Built:
    """The columns of a square of which eight vectors are the rows.

    Corners change places first, then pairs of neighbours twice: three rounds for all eight.
    """
    halves = [0, 1, 2, 3, 8, 9, 10, 11], [4, 5, 6, 7, 12, 13, 14, 15]
    pairs = [0, 8, 1, 9, 4, 12, 5, 13], [2, 10, 3, 11, 6, 14, 7, 15]

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        columns = []
        for half in halves:
            rows = [_picked(builder, args[i], args[i + 4], half) for i in range(4)]
            for pair in pairs:
                even, odd = (_picked(builder, rows[i], rows[i + 2], pair) for i in (0, 1))
                columns += [_picked(builder, even, odd, places) for places in pairs]
        return context.make_tuple(builder, signature.return_type, columns)

    return types.UniTuple(_lanes, WIDTH)(*[_lanes] * WIDTH), build


@intrinsic
def prefetch(_: Any, array: Any, index: Any) -> Built:
    """Have the processor fetch the bytes around an index while it works on others."""
    byte = ir.IntType(8).as_pointer()

    def build(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        spot = _spot(context, builder, signature.args[0], args[0], args[1], ir.IntType(8))
        kind = ir.FunctionType(ir.VoidType(), [byte, _INT, _INT, _INT])
        function = builder.module.declare_intrinsic("llvm.prefetch", [byte], kind)
        reading, keep, data = (ir.Constant(_INT, flag) for flag in (0, 2, 1))
        builder.call(function, [spot, reading, keep, data])
        return context.get_dummy_value()

    return types.void(array, types.intp), build
