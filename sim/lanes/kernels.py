"""A function that Python calls: its machine code is loaded if stored, else compiled and stored."""

import hashlib
import inspect
import threading
from collections.abc import Callable
from functools import cached_property
from typing import Any

from sim.lanes import cache, native
from sim.lanes.words import words_of

Entry = Callable[[list[int]], None]


class Kernel:
    """A kernel, by the kinds of its arguments.

    A kernel whose file is watched, that returns nothing and takes lane families, numbers, arrays
    and tuples of these is called by its words: its code loads in a hundredth of a second, without
    numba. Any other is numba's from end to end.

    Attributes
    ----------
    loaded, compiled : int
        How many kinds of arguments were loaded from disk, and how many were compiled for words.
    """

    def __init__(self, function: Any) -> None:
        self.py_func = self.__wrapped__ = function
        self.__name__ = function.__name__
        self.__doc__ = function.__doc__
        self.__module__ = function.__module__
        self.loaded = self.compiled = 0
        self._entries: dict[str, Entry | None] = {}
        self._turn = threading.Lock()
        self._by_words = may_be_stored(function)

    def __call__(self, *arguments: Any) -> Any:
        """Run it."""
        given = words_of(arguments) if self._by_words else None
        if given is None:
            return self.dispatcher(*arguments)
        description, words = given
        if description not in self._entries:
            with self._turn:
                if description not in self._entries:
                    self._entries[description] = self._entry(description, arguments)
        entry = self._entries[description]
        return self.dispatcher(*arguments) if entry is None else entry(words)

    @cached_property
    def dispatcher(self) -> Any:
        """Numba's own way to it."""
        from sim.lanes.compiled.inner import kernel_dispatcher

        return kernel_dispatcher(self.py_func, self._by_words)

    def _entry(self, description: str, arguments: tuple[Any, ...]) -> Entry | None:
        """Load the code for such arguments, or compile and store it; None leaves it to numba."""
        try:
            name = self._file_name(description)
            piece = _sound(cache.read(name))
            if piece is not None:
                entry = native.load(piece)
                self.loaded += 1
                return entry
            from sim.lanes.compiled.entry import compile_entry

            piece = compile_entry(self.py_func, arguments)
            entry = native.load(piece)
        except native.NoNativeCode:
            return None
        self.compiled += 1
        cache.write(name, hashlib.sha256(piece).digest() + piece)
        return entry

    def _file_name(self, description: str) -> str:
        code = self.py_func.__code__
        parts = (
            self.__module__, self.py_func.__qualname__, code.co_code.hex(), description,
            native.processor(),
        )  # fmt: skip
        digest = hashlib.sha256("\0".join(parts).encode()).hexdigest()[:24]
        family = description.split(",")[0]
        return f"{self.__name__}-{family if family.startswith('lanes') else 'any'}-{digest}"


def _sound(content: bytes | None) -> bytes | None:
    """What is stored without its checksum; None if it was cut short by a full disk, or worse."""
    if content is None or hashlib.sha256(content[32:]).digest() != content[:32]:
        return None
    return content[32:]


def may_be_stored(function: Callable[..., Any]) -> bool:
    """Only where an edit of anything it calls changes the key; a closure may hold anything."""
    try:
        return not function.__closure__ and cache.is_watched(inspect.getfile(function))
    except (TypeError, AttributeError):
        return False
