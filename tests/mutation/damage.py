"""The small damages: every place of a file where one comparison, number, sign, condition, return or call can be changed.

Words, annotations and decorators are left alone, and so is whatever would not parse or would read the same.
"""

from __future__ import annotations

import ast
from dataclasses import dataclass

COMPARED: dict[type[ast.cmpop], tuple[tuple[str, str], ...]] = {
    ast.Lt: (("<", "<="), ("<", ">=")),
    ast.LtE: (("<=", "<"), ("<=", ">")),
    ast.Gt: ((">", ">="), (">", "<=")),
    ast.GtE: ((">=", ">"), (">=", "<")),
    ast.Eq: (("==", "!="),),
    ast.NotEq: (("!=", "=="),),
    ast.Is: (("is", "is not"),),
    ast.IsNot: (("is not", "is"),),
    ast.In: (("in", "not in"),),
    ast.NotIn: (("not in", "in"),),
}
RECKONED: dict[type[ast.operator], tuple[str, str]] = {
    ast.Add: ("+", "-"),
    ast.Sub: ("-", "+"),
    ast.Mult: ("*", "/"),
    ast.Div: ("/", "*"),
    ast.FloorDiv: ("//", "/"),
    ast.Mod: ("%", "*"),
    ast.Pow: ("**", "*"),
    ast.BitAnd: ("&", "|"),
    ast.BitOr: ("|", "&"),
    ast.MatMult: ("@", "*"),
}


@dataclass(frozen=True)
class Mutant:
    """Bytes `start` to `stop` of a file become `new`; `first` to `last` are the lines whose tests are asked, unless they are
    run when the file is imported and not when something in it is `called`: then all that reach the file.
    """

    file: str
    kind: str
    start: int
    stop: int
    old: str
    new: str
    line: int
    first: int
    last: int
    called: bool = True

    def text(self, source: bytes) -> bytes:
        """The damaged file."""
        return source[: self.start] + self.new.encode() + source[self.stop :]

    def say(self, source: bytes) -> str:
        """The line as it was and as it became."""
        left, right = source.rfind(b"\n", 0, self.start) + 1, source.find(b"\n", self.stop)
        was = source[left:right].decode()
        now = self.text(source)[left : right + len(self.new.encode()) - (self.stop - self.start)].decode()
        return f"{self.file}:{self.line} {' '.join(was.split())} -> {' '.join(now.split())}"


class _Reader(ast.NodeVisitor):
    """Walks a file and keeps every damage that can be done to it."""

    def __init__(self, file: str, source: bytes) -> None:
        self.file, self.source = file, source
        starts = [0]
        for row in source.splitlines(keepends=True):
            starts.append(starts[-1] + len(row))
        self.starts = starts
        self.found: list[Mutant] = []
        self.lines = (1, 1)
        self.deep = 0

    def span(self, node: ast.AST) -> tuple[int, int]:
        """First byte and the byte after the last of a node."""
        at = self.starts[node.lineno - 1] + node.col_offset  # type: ignore[attr-defined]
        return at, self.starts[node.end_lineno - 1] + node.end_col_offset  # type: ignore[attr-defined]

    def keep(self, kind: str, start: int, stop: int, new: str) -> None:
        """Note one damage."""
        old = self.source[start:stop].decode()
        line = self.source.count(b"\n", 0, start) + 1
        self.found.append(Mutant(self.file, kind, start, stop, old, new, line, *self.lines, self.deep > 0))

    def between(self, kind: str, left: ast.AST, right: ast.AST, old: str, new: str) -> None:
        """Swap the sign that stands between two nodes."""
        start, stop = self.span(left)[1], self.span(right)[0]
        gap = self.source[start:stop].decode()
        if gap.count(old) == 1:
            at = start + len(gap[: gap.index(old)].encode())
            self.keep(kind, at, at + len(old), new)

    def visit(self, node: ast.AST) -> None:
        """Skip what is left alone and remember the statement a node stands in."""
        if isinstance(node, ast.stmt):
            body = getattr(node, "body", None)
            last = node.end_lineno or node.lineno
            self.lines = (node.lineno, max(node.lineno, body[0].lineno - 1) if body else last)
        inside = isinstance(node, ast.FunctionDef | ast.Lambda)
        self.deep += inside
        super().visit(node)
        self.deep -= inside

    def generic_visit(self, node: ast.AST) -> None:
        """Go on into everything but annotations and decorators."""
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "returns", "decorator_list"):
                continue
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.AST):
                    self.visit(child)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Words, and places inside them are told wrongly before Python 3.12."""

    def visit_Compare(self, node: ast.Compare) -> None:
        """Another comparison."""
        places = [node.left, *node.comparators]
        for left, op, right in zip(places, node.ops, node.comparators, strict=False):
            for old, new in COMPARED[type(op)]:
                self.between("comparison", left, right, old, new)
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        """Another sign."""
        words = any(isinstance(n, ast.JoinedStr) or _is_text(n) for n in (node.left, node.right))
        if type(node.op) in RECKONED and not words:
            self.between("arithmetic", node.left, node.right, *RECKONED[type(node.op)])
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        """Another sign before the equals sign."""
        if type(node.op) in RECKONED:
            old, new = RECKONED[type(node.op)]
            self.between("arithmetic", node.target, node.value, old + "=", new + "=")
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        """And becomes or."""
        old, new = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
        for left, right in zip(node.values, node.values[1:], strict=False):
            self.between("and/or", left, right, old, new)
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        """Neither `not` nor minus."""
        if isinstance(node.op, ast.Not | ast.USub):
            self.keep("not/minus", self.span(node)[0], self.span(node.operand)[0], "")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        """One more, a tenth more, or the other truth."""
        if isinstance(node.value, bool):
            self.keep("constant", *self.span(node), str(not node.value))
        elif isinstance(node.value, int):
            self.keep("constant", *self.span(node), str(node.value + 1))
        elif isinstance(node.value, float):
            self.keep("constant", *self.span(node), repr(node.value * 1.1 or 1.0))

    def turned(self, test: ast.expr) -> None:
        """The condition turned round."""
        start, stop = self.span(test)
        self.keep("condition", start, stop, f"(not ({self.source[start:stop].decode()}))")

    def visit_If(self, node: ast.If | ast.IfExp | ast.While) -> None:
        """A condition."""
        if not (isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"):
            self.turned(node.test)
            self.generic_visit(node)

    visit_IfExp = visit_If
    visit_While = visit_If

    def visit_comprehension(self, node: ast.comprehension) -> None:
        """Conditions of a comprehension."""
        for test in node.ifs:
            self.turned(test)
        self.generic_visit(node)

    def visit_Return(self, node: ast.Return) -> None:
        """Nothing is given back."""
        if node.value is not None and not (isinstance(node.value, ast.Constant) and node.value.value is None):
            self.keep("return", *self.span(node.value), "None")
        self.generic_visit(node)

    def visit_Expr(self, node: ast.Expr) -> None:
        """A call left out."""
        if isinstance(node.value, ast.Call):
            self.keep("left out", *self.span(node), "pass")
        self.generic_visit(node)

    def visit_Raise(self, node: ast.Raise) -> None:
        """A refusal left out."""
        self.keep("left out", *self.span(node), "pass")
        self.generic_visit(node)


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


def mutants(file: str, source: bytes) -> list[Mutant]:
    """Every damage of one file, in the order of its lines."""
    reader = _Reader(file, source)
    reader.visit(ast.parse(source))
    return sorted(reader.found, key=lambda mutant: (mutant.start, mutant.stop, mutant.new))


def differs(mutant: Mutant, source: bytes) -> bool:
    """Whether the damaged file parses and reads otherwise."""
    try:
        return ast.dump(ast.parse(mutant.text(source))) != ast.dump(ast.parse(source))
    except SyntaxError:
        return False
