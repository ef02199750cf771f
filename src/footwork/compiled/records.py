"""Records of arrays that compiled code hands on by reference.

Numba passes a named tuple by value: one of twenty arrays is some 150 values at every call, and compiling the
calls takes longer than compiling what they compute.  A class marked ``record`` is written like a named tuple;
compiled code has a pointer to its fields and reads them by name.

Python and compiled code share the object.  One that Python makes is laid out in memory when compiled code
first asks for it; of one that compiled code makes, Python reads a field when it is first asked for.  So what
a compiled function takes and returns costs the same however many fields it has.

Fields never change (the arrays in them may), and what compiled code loads from one is marked so (LLVM's
``invariant.load``): a loop that writes to arrays need not fetch them from the record again.  That is sound
because a record is filled in a function of its own, before anybody has the pointer.
"""

from __future__ import annotations

import ctypes
import hashlib
import inspect
import struct
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from functools import cache, partial
from typing import Any, TypeVar

import numpy as np
from llvmlite import ir
from numba.core import cgutils, imputils, types
from numba.core.datamodel import models, register_default
from numba.core.extending import NativeValue, box, infer_getattr, lower_builtin, lower_getattr_generic, unbox
from numba.core.registry import cpu_target
from numba.core.runtime import nrt
from numba.core.typing.templates import AttributeTemplate, make_callable_template
from numba.core.typing.typeof import typeof
from numba.extending import typeof_impl
from numba.np.numpy_support import as_dtype

_Class = TypeVar("_Class", bound=type)
_INDEX = ir.IntType(32)


def record(cls: _Class) -> _Class:
    """Mark a class written as a ``NamedTuple``."""
    names: tuple[str, ...] = cls._fields  # type: ignore[attr-defined]
    body: dict[str, Any] = {name: _field(k) for k, name in enumerate(names)}
    body |= {"__slots__": (), "__doc__": cls.__doc__, "__module__": cls.__module__}
    body |= {"__qualname__": cls.__qualname__, "_fields": names, "_signature": inspect.signature(cls)}
    marked: Any = _RecordMeta(cls.__name__, (_Record,), body)
    return marked  # type: ignore[no-any-return]


def _field(k: int) -> property:
    return property(lambda made: made._field(k))


class _RecordMeta(type):
    """The class of record classes, by which Numba tells them from others."""


_UNREAD = object()


class _Record(metaclass=_RecordMeta):
    """What all records have in common.

    ``_values`` are the fields, as far as Python has seen them.  ``_memory`` holds what compiled code has:
    Numba's count of references, which lies at ``_counted_at``, to fields that lie at ``_fields_at``.
    """

    __slots__ = ("_counted_at", "_fields_at", "_kind", "_memory", "_values")
    _fields: tuple[str, ...]
    _signature: inspect.Signature
    _values: list[Any]
    _kind: RecordType
    _memory: Any
    _counted_at: int
    _fields_at: int

    def __init__(self, *args: Any, **kws: Any) -> None:
        if kws or len(args) != len(self._fields):
            args = self._signature.bind(*args, **kws).args
        self._values = list(args)

    def _field(self, k: int) -> Any:
        value = self._values[k]
        if value is _UNREAD:
            value = self._values[k] = _read(self, k)
        return value

    def __iter__(self) -> Iterator[Any]:
        return map(self._field, range(len(self._fields)))

    def __len__(self) -> int:
        return len(self._fields)

    def __repr__(self) -> str:
        inside = ", ".join(f"{n}={v!r}" for n, v in zip(self._fields, self, strict=True))
        return f"{type(self).__name__}({inside})"

    def _replace(self, **changed: Any) -> Any:
        return type(self)(**dict(zip(self._fields, self, strict=True)) | changed)

    def __getattr__(self, name: str) -> Any:
        """Called for what is not there yet: the kind of a record that Python made, and where it lies."""
        if name == "_kind":
            self._kind = kind = RecordType(type(self), [typeof(value) for value in self._values])
            return kind
        if name in ("_memory", "_counted_at", "_fields_at"):
            _lay_out(self)
            return getattr(self, name)
        raise AttributeError(f"{type(self).__name__} has no {name!r}")


class RecordType(types.Type):
    """Numba's type of a record: its class and the types of its fields."""

    def __init__(self, cls: Any, fields: Sequence[Any]) -> None:
        self.cls, self.fields = cls, tuple(fields)
        self.names: tuple[str, ...] = cls._fields
        told = ", ".join(f"{name}: {kind}" for name, kind in zip(self.names, fields, strict=True))
        kinds = hashlib.sha256(told.encode()).hexdigest()[:12]
        super().__init__(name=f"{cls.__module__}.{cls.__qualname__}:{kinds}")


class _Fields(types.Type):
    """The fields of a record as they lie in memory."""

    def __init__(self, kind: RecordType) -> None:
        self.kind = kind
        super().__init__(name=f"{kind.name}.fields")


class _RecordClass(types.Opaque):
    """Numba's type of a record's class, which compiled code calls to make one."""

    def __init__(self, cls: Any) -> None:
        self.cls = cls
        super().__init__(name=f"class {cls.__module__}.{cls.__qualname__}")


@typeof_impl.register(_Record)
def _typeof_record(value: _Record, _context: Any) -> RecordType:
    kind: RecordType = value._kind
    return kind


@typeof_impl.register(_RecordMeta)
def _typeof_class(value: Any, _context: Any) -> _RecordClass:
    return _RecordClass(value)


@register_default(_Fields)
class _FieldsModel(models.StructModel):
    def __init__(self, manager: Any, fields: _Fields) -> None:
        super().__init__(manager, fields, list(zip(fields.kind.names, fields.kind.fields, strict=True)))


@register_default(RecordType)
class _RecordModel(models.StructModel):
    """Who counts the references, and where the fields are."""

    def __init__(self, manager: Any, kind: RecordType) -> None:
        fields = _Fields(kind)
        members = [("counted", types.MemInfoPointer(fields)), ("fields", types.voidptr)]
        super().__init__(manager, kind, members)


register_default(_RecordClass)(models.OpaqueModel)


# In compiled code


@infer_getattr
class _Attributes(AttributeTemplate):
    key = RecordType

    def generic_resolve(self, kind: RecordType, name: str) -> Any:
        return kind.fields[kind.names.index(name)] if name in kind.names else None


@infer_getattr
class _Construction(AttributeTemplate):
    key = _RecordClass

    def resolve___call__(self, kind: _RecordClass) -> Any:
        parameters = kind.cls._signature

        def typer(*args: Any, **kws: Any) -> RecordType:
            bound = parameters.bind(*args, **kws)
            return RecordType(kind.cls, [types.unliteral(field) for field in bound.args])

        typer.pysig = parameters  # type: ignore[attr-defined]
        return types.Function(make_callable_template(self.key, typer))


def _at(builder: Any, pointer: Any, k: int) -> Any:
    return builder.gep(pointer, [_INDEX(0), _INDEX(k)], inbounds=True)


def _loaded(builder: Any, pointer: Any) -> Any:
    """What lies there, number by number, each marked as never changing."""
    kind = pointer.type.pointee
    if isinstance(kind, (ir.LiteralStructType, ir.ArrayType)):
        value = ir.Constant(kind, ir.Undefined)
        for k in range(len(kind)):
            value = builder.insert_value(value, _loaded(builder, _at(builder, pointer, k)), k)
        return value
    value = builder.load(pointer)
    value.set_metadata("invariant.load", builder.module.add_metadata([]))
    return value


@lower_getattr_generic(RecordType)
def _get_field(context: Any, builder: Any, kind: RecordType, value: Any, name: str) -> Any:
    k, layout = kind.names.index(name), context.get_value_type(_Fields(kind))
    fields = builder.bitcast(context.make_helper(builder, kind, value=value).fields, layout.as_pointer())
    field = _loaded(builder, _at(builder, fields, k))
    return imputils.impl_ret_borrowed(context, builder, kind.fields[k], field)


@lower_builtin(_RecordClass, types.VarArg(types.Any))
def _construct(context: Any, builder: Any, sig: Any, args: Sequence[Any]) -> Any:
    kind = sig.return_type
    values = []
    for value, given, field in zip(args, sig.args, kind.fields, strict=True):
        values.append(context.cast(builder, value, given, field))
        context.nrt.incref(builder, field, values[-1])
    made = builder.call(_maker(context, builder.module, kind), values)
    return imputils.impl_ret_new_ref(context, builder, kind, made)


def _maker(context: Any, module: Any, kind: RecordType) -> Any:
    """A function that makes a record of values, whose references it takes over.

    It stays a function, so that no load from the record can be taken to come before.
    """
    layout = context.get_value_type(_Fields(kind))
    signature = ir.FunctionType(context.get_value_type(kind), list(layout.elements))
    function = cgutils.get_or_insert_function(module, signature, f"{kind.name}.new")
    if function.is_declaration:
        function.linkage = "linkonce_odr"
        function.attributes.add("noinline")
        builder = ir.IRBuilder(function.append_basic_block())
        size = context.get_constant(types.uintp, context.get_abi_sizeof(layout))
        drop = _destructor(context, module, kind)
        counted = context.nrt.meminfo_alloc_dtor_unchecked(builder, size, drop)
        fields = builder.bitcast(context.nrt.meminfo_data(builder, counted), layout.as_pointer())
        for k, value in enumerate(function.args):
            builder.store(value, _at(builder, fields, k))
        builder.ret(_reference(context, builder, kind, counted, fields))
    return function


def _destructor(context: Any, module: Any, kind: RecordType) -> Any:
    """A function that lets go of the fields of a record that nobody has any more."""
    word = context.get_value_type(types.voidptr)
    signature = ir.FunctionType(ir.VoidType(), [word, context.get_value_type(types.uintp), word])
    function = cgutils.get_or_insert_function(module, signature, f"{kind.name}.drop")
    if function.is_declaration:
        function.linkage = "linkonce_odr"
        builder = ir.IRBuilder(function.append_basic_block())
        fields = builder.bitcast(function.args[0], context.get_value_type(_Fields(kind)).as_pointer())
        for k, field in enumerate(kind.fields):
            context.nrt.decref(builder, field, builder.load(_at(builder, fields, k)))
        builder.ret_void()
    return function


def _reference(context: Any, builder: Any, kind: RecordType, counted: Any, fields: Any) -> Any:
    helper = context.make_helper(builder, kind)
    helper.counted, helper.fields = counted, builder.bitcast(fields, helper.fields.type)
    return helper._getvalue()


# Between Python and compiled code


@unbox(RecordType)
def _unbox(kind: RecordType, given: Any, c: Any) -> Any:
    """The record that a Python object is; it keeps its own reference."""
    # Asked for one after another, and none after one that failed: it would take the place of the interrupt.
    word = ir.IntType(64)
    places = [cgutils.alloca_once_value(c.builder, word(0)) for _ in range(2)]  # not counted, where it fails
    with ExitStack() as stack:
        for name, place in zip(("_counted_at", "_fields_at"), places, strict=True):
            number = c.pyapi.object_getattr_string(given, name)
            stack.enter_context(cgutils.if_likely(c.builder, cgutils.is_not_null(c.builder, number)))
            c.builder.store(c.pyapi.long_as_ulonglong(number), place)
            c.pyapi.decref(number)
    addresses = [c.builder.load(place) for place in places]
    failed = cgutils.is_null(c.builder, addresses[1])
    wanted = c.context.make_helper(c.builder, kind)
    counted = c.builder.inttoptr(addresses[0], wanted.counted.type)
    value = _reference(
        c.context, c.builder, kind, counted, c.builder.inttoptr(addresses[1], wanted.fields.type)
    )
    if c.context.enable_nrt:
        c.context.nrt.incref(c.builder, kind, value)
    return NativeValue(value, is_error=failed)


@box(RecordType)
def _box(kind: RecordType, value: Any, c: Any) -> Any:
    """A Python object with the reference that ``value`` had."""
    helper, word = c.context.make_helper(c.builder, kind, value=value), ir.IntType(64)
    maker = c.pyapi.unserialize(c.pyapi.serialize_object(partial(_from_memory, kind)))
    addresses = [
        c.pyapi.long_from_ulonglong(c.builder.ptrtoint(at, word)) for at in (helper.counted, helper.fields)
    ]
    # An interrupt is raised in whatever Python runs here, such as reading the maker back: none is made then.
    boxed = cgutils.alloca_once_value(c.builder, ir.Constant(c.pyapi.pyobj, None))
    with c.builder.if_else(cgutils.is_not_null(c.builder, maker)) as (made, interrupted):
        with made:
            memory = c.box(types.MemInfoPointer(_Fields(kind)), helper.counted)
            c.builder.store(c.pyapi.call_function_objargs(maker, [memory, *addresses]), boxed)
            c.pyapi.decref(memory)
        with interrupted:
            c.context.nrt.decref(c.builder, kind, value)
    for item in (maker, *addresses):
        c.pyapi.decref(item)
    return c.builder.load(boxed)


def _from_memory(kind: RecordType, memory: Any, counted_at: int, fields_at: int) -> Any:
    """The Python object of a record that compiled code has made."""
    made = object.__new__(kind.cls)
    made._kind, made._memory = kind, memory
    made._counted_at, made._fields_at = counted_at, fields_at
    made._values = [_UNREAD] * len(kind.fields)
    return made


@cache
def _layout(kind: RecordType) -> tuple[int, tuple[int, ...]]:
    """Bytes that the fields of a record take, and where each begins."""
    context = cpu_target.target_context
    layout, target = context.get_value_type(_Fields(kind)), context.target_data
    begin = tuple(layout.get_element_offset(target, k) for k in range(len(kind.fields)))
    return layout.get_abi_size(target), begin


_dtype = cache(as_dtype)
"""Numpy's type of a number."""


@cache
def _array_form(dimensions: int) -> str:
    """Numba's array in memory: whose it is and what it is part of, items, bytes an item, where they are,
    shape and strides."""
    return f"PPqqP{dimensions}q{dimensions}q"


def _lay_out(made: _Record) -> None:
    """Lay a record out in memory for compiled code; the arrays stay where they are."""
    kind = made._kind
    nrt.rtsys.initialize(cpu_target.target_context)
    size, begin = _layout(kind)
    memory, held = ctypes.create_string_buffer(size), []
    for value, field, at in zip(made._values, kind.fields, begin, strict=True):
        if isinstance(field, RecordType):
            held.append(value._memory)
            struct.pack_into("PP", memory, at, value._counted_at, value._fields_at)
        elif isinstance(field, types.Array):
            counted_at = nrt._nrt.meminfo_new(value.ctypes.data, value)
            held.append(nrt.MemInfo(counted_at))
            numbers = (value.size, value.itemsize, value.ctypes.data, *value.shape, *value.strides)
            struct.pack_into(_array_form(value.ndim), memory, at, counted_at, 0, *numbers)
        else:
            number = np.array(value, as_dtype(field)).tobytes()
            struct.pack_into(f"{len(number)}s", memory, at, number)
    made._fields_at = ctypes.addressof(memory)
    made._counted_at = nrt._nrt.meminfo_new(made._fields_at, (memory, held))
    made._memory = nrt.MemInfo(made._counted_at)


def _read(made: _Record, k: int) -> Any:
    """A field of a record that compiled code has made; an array is a view of what compiled code has."""
    field, at = made._kind.fields[k], made._fields_at + _layout(made._kind)[1][k]
    if isinstance(field, RecordType):
        counted_at, fields_at = struct.unpack("PP", ctypes.string_at(at, struct.calcsize("PP")))
        memory = nrt.MemInfo(counted_at)
        memory.acquire()  # ``MemInfo`` takes over a reference, and this one is the record's
        return _from_memory(field, memory, counted_at, fields_at)
    if not isinstance(field, types.Array):
        kind = _dtype(field)
        return np.frombuffer(ctypes.string_at(at, kind.itemsize), kind)[0].item()
    form = _array_form(field.ndim)
    _, _, items, _, data, *numbers = struct.unpack(form, ctypes.string_at(at, struct.calcsize(form)))
    shape, strides = numbers[: field.ndim], numbers[field.ndim :]
    if items == 0:
        return np.empty(shape, _dtype(field.dtype))
    return np.asarray(_View(made, data, _dtype(field.dtype), shape, strides))


class _View:
    """Numbers of compiled code as numpy asks for them; the array keeps this object, and it the record."""

    def __init__(self, made: _Record, data: int, kind: Any, shape: list[int], strides: list[int]) -> None:
        self.made = made
        self.__array_interface__ = {
            "version": 3, "typestr": kind.str, "data": (data, False),
            "shape": tuple(shape), "strides": tuple(strides),
        }  # fmt: skip
