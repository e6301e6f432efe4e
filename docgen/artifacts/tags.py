"""Turn a document's tags into the structure tree that assistive technology reads (ISO 32000-1, 14.7 and 14.8)."""

from __future__ import annotations

from docgen.artifacts.objects import Objects, name, number, ref, string
from docgen.model.sheet import Tag

ROLES = frozenset(
    [
        "Document",
        "Part",
        "Art",
        "Sect",
        "Div",
        "BlockQuote",
        "Caption",
        "TOC",
        "TOCI",
        "Index",
        "NonStruct",
        "Private",
        "P",
        "H",
        "H1",
        "H2",
        "H3",
        "H4",
        "H5",
        "H6",
        "L",
        "LI",
        "Lbl",
        "LBody",
        "Table",
        "TR",
        "TH",
        "TD",
        "THead",
        "TBody",
        "TFoot",
        "Span",
        "Quote",
        "Note",
        "Reference",
        "BibEntry",
        "Code",
        "Link",
        "Annot",
        "Figure",
        "Formula",
        "Form",
    ]
)
"""Standard structure types (14.8.4); others would need a role map, and none is used."""


class Structure:
    """Collects what belongs to each tag while pages are written."""

    def __init__(self, tags: tuple[Tag, ...], objects: Objects) -> None:
        """ValueError for a role that is not standard, or a tag whose parent does not stand before it."""
        for i, tag in enumerate(tags):
            if tag.role not in ROLES:
                raise ValueError(f"tag {i}: `{tag.role}` is not a standard structure type")
            if not -1 <= tag.parent < i:
                raise ValueError(f"tag {i}: its parent {tag.parent} must be an earlier tag")
        self._tags = tags
        self.roles = tuple(tag.role for tag in tags)
        self._objects = objects
        self.root = objects.reserve()
        self._numbers = [objects.reserve() for _ in tags]
        self._kids: list[list[bytes]] = [[] for _ in tags]
        self._pages: list[int] = [0] * len(tags)
        self._boxes: dict[int, tuple[float, float, float, float]] = {}
        self._parents: list[bytes] = []

    def page(self, marked: list[int], page: int) -> int:
        """Note which tag each marked-content sequence of a page belongs to; returns the page's StructParents key."""
        for mcid, tag in enumerate(marked):
            if not self._pages[tag]:
                self._pages[tag] = page
            same = self._pages[tag] == page
            kid = b"%d" % mcid if same else b"<</Type/MCR/Pg %b/MCID %d>>" % (ref(page), mcid)
            self._kids[tag].append(kid)
        self._parents.append(b"[" + b" ".join(ref(self._numbers[tag]) for tag in marked) + b"]")
        return len(self._parents) - 1

    def widget(self, tag: int, widget: int, page: int) -> int:
        """Note a form field's widget; returns its StructParent key."""
        self._kids[tag].append(b"<</Type/OBJR/Obj %b/Pg %b>>" % (ref(widget), ref(page)))
        self._parents.append(ref(self._numbers[tag]))
        return len(self._parents) - 1

    def box(self, tag: int, box: tuple[float, float, float, float]) -> None:
        """Widen the bounding box of a figure (left, bottom, right, top, in points of its page)."""
        old = self._boxes.get(tag, box)
        self._boxes[tag] = (min(old[0], box[0]), min(old[1], box[1]), max(old[2], box[2]), max(old[3], box[3]))

    def write(self) -> None:
        """Write the tree. An element's own content stands before its child elements."""
        kids, top = self._kids, []
        for i, tag in enumerate(self._tags):
            if tag.parent < 0:
                top.append(i)
            else:
                kids[tag.parent].append(ref(self._numbers[i]))
        single = len(top) == 1 and self._tags[top[0]].role == "Document"
        document = self._numbers[top[0]] if single else self._objects.reserve()
        for i, tag in enumerate(self._tags):
            parent = self._numbers[tag.parent] if tag.parent >= 0 else self.root if single else document
            self._objects.put(self._numbers[i], self._element(i, tag, parent))
        if not single:
            inside = b" ".join(ref(self._numbers[i]) for i in top)
            self._objects.put(document, b"<</Type/StructElem/S/Document/P %b/K[%b]>>" % (ref(self.root), inside))
        numbers = b" ".join(b"%d %b" % (key, value) for key, value in enumerate(self._parents))
        tree = self._objects.add(b"<</Nums[%b]>>" % numbers)
        self._objects.put(
            self.root,
            b"<</Type/StructTreeRoot/K %b/ParentTree %b/ParentTreeNextKey %d>>"
            % (ref(document), ref(tree), len(self._parents)),
        )

    def _element(self, i: int, tag: Tag, parent: int) -> bytes:
        parts = [b"<</Type/StructElem/S/", tag.role.encode(), b"/P ", ref(parent)]
        if self._pages[i]:
            parts += [b"/Pg ", ref(self._pages[i])]
        kids = self._kids[i]
        if kids:
            parts += [b"/K ", kids[0]] if len(kids) == 1 else [b"/K[", b" ".join(kids), b"]"]
        for key, text in ((b"/Lang", tag.language), (b"/Alt", tag.alt), (b"/ActualText", tag.actual), (b"/T", tag.ref)):
            if text:
                parts += [key, string(text)]
        if tag.scope:
            parts += [b"/A<</O/Table/Scope", name(tag.scope), b">>"]
        elif i in self._boxes:
            parts.append(b"/A<</O/Layout/BBox[%b]>>" % " ".join(number(v) for v in self._boxes[i]).encode())
        parts.append(b">>")
        return b"".join(parts)
