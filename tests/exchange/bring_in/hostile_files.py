"""Files that nobody should send: each small to write down, and meant to fill a memory, reach a file, or confuse a reader."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable

_TYPES = (
    '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Override PartName="/xl/workbook.xml" '
    'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>'
    '<Override PartName="/xl/worksheets/sheet1.xml" '
    'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>'
    "</Types>"
)
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_RELS = (
    '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Id="rId1" Type="{_OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>'
)
_BOOK = (
    '<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" '
    f'xmlns:r="{_OFFICE}"><sheets><sheet name="Sheet1" sheetId="1" r:id="rId1"/></sheets></workbook>'
)
_BOOK_RELS = (
    '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Id="rId1" Type="{_OFFICE}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>'
)
SHEET = "xl/worksheets/sheet1.xml"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
LAUGHS = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))


def sheet_xml(inner: str, *, before: str = "") -> str:
    return f'<?xml version="1.0"?>{before}<worksheet xmlns="{_MAIN}"><sheetData>{inner}</sheetData></worksheet>'


def cell(at: str, text: str = "x") -> str:
    place = f' r="{at}"' if at else ""
    return f'<c{place} t="inlineStr"><is><t>{text}</t></is></c>'


def parts_of(sheet: str) -> dict[str, str]:
    return {
        "[Content_Types].xml": _TYPES,
        "_rels/.rels": _RELS,
        "xl/workbook.xml": _BOOK,
        "xl/_rels/workbook.xml.rels": _BOOK_RELS,
        SHEET: sheet,
    }


def zipped(parts: dict[str, str], *, more: tuple[tuple[str, str], ...] = (), how: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", how) as packed:
        for name, text in (*parts.items(), *more):
            packed.writestr(name, text)
    return out.getvalue()


def xlsx(inner: str, **more: str) -> bytes:
    return zipped(parts_of(sheet_xml(inner, **more)))


def table_xlsx(rows: list[list[str]]) -> bytes:
    """An honest small workbook of texts."""
    return xlsx(
        "".join(
            f'<row r="{n}">{"".join(cell(f"{chr(65 + at)}{n}", text) for at, text in enumerate(row))}</row>'
            for n, row in enumerate(rows, 1)
        )
    )


def ods(inner: str, *, before: str = "") -> bytes:
    spaces = "".join(f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("office", "table", "text"))
    text = (
        f'<?xml version="1.0"?>{before}<office:document-content{spaces} office:version="1.2"><office:body><office:spreadsheet>'
        f'<table:table table:name="S">{inner}</table:table></office:spreadsheet></office:body></office:document-content>'
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    listed = (
        '<?xml version="1.0"?><manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>'
    )
    return zipped({"mimetype": kind, "META-INF/manifest.xml": listed, "content.xml": text})


def ods_cell(text: str = "x", times: int = 1) -> str:
    repeated = f' table:number-columns-repeated="{times}"' if times > 1 else ""
    return f'<table:table-cell office:value-type="string"{repeated}><text:p>{text}</text:p></table:table-cell>'


def ods_row(cells: str, times: int = 1) -> str:
    repeated = f' table:number-rows-repeated="{times}"' if times > 1 else ""
    return f"<table:table-row{repeated}>{cells}</table:table-row>"


def table_ods(rows: list[list[str]]) -> bytes:
    return ods("".join(ods_row("".join(map(ods_cell, row))) for row in rows))


def _secret(content: bytes) -> bytes:
    """Every entry of the list says that it is kept by a password."""
    made, at = bytearray(content), content.find(b"PK\x01\x02")
    while at >= 0:
        made[at + 8] |= 1
        at = content.find(b"PK\x01\x02", at + 1)
    return bytes(made)


def _says_size(content: bytes, size: int) -> bytes:
    """The last entry of the list says that it unpacks to `size`."""
    at = content.rfind(b"PK\x01\x02")
    return content[: at + 24] + struct.pack("<I", size) + content[at + 28 :]


def _spoilt_inside(content: bytes) -> bytes:
    at = content.rfind(b"PK\x03\x04") + 80
    return content[:at] + bytes(one ^ 0xFF for one in content[at : at + 20]) + content[at + 20 :]


_FINE = '<row r="1">' + cell("A1", "Arrow") + "</row>"
_ROWS, _COLUMNS, _CELLS = "20,000 rows", "500 columns", "2,000,000 cells"
_NEEDS, _DAMAGED, _TEXT = "no spreadsheet needs", "cut off or damaged", "no text that can be read"

# name -> how it is made, and what its refusal says
HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "a far cell": (lambda: xlsx(f'<row r="1">{cell("A1")}</row><row r="1048576">{cell("XFD1048576")}</row>'), _ROWS),
    "a far row": (lambda: xlsx(f'<row r="1048576">{cell("A1048576")}</row>'), _ROWS),
    "a far column": (lambda: xlsx(f'<row r="1">{cell("XFD1")}</row>'), _COLUMNS),
    "a cell whose row differs from its own": (lambda: xlsx(f'<row r="1">{cell("A900000")}</row>'), _ROWS),
    "a column of seven letters": (lambda: xlsx(f'<row r="1">{cell("ZZZZZZZ1")}</row>'), _COLUMNS),
    "a row of nine digits": (lambda: xlsx('<row r="999999999"></row>'), _ROWS),
    "rows beyond the limit": (lambda: xlsx("".join(f'<row r="{n}">{cell(f"A{n}")}</row>' for n in range(1, 20_003))), _ROWS),
    "rows without numbers": (lambda: xlsx(f"<row>{cell('')}</row>" * 20_002), _ROWS),
    "columns beyond the limit": (lambda: xlsx(f'<row r="1">{cell("") * 501}</row>'), _COLUMNS),
    "ten thousand columns": (lambda: xlsx(f'<row r="1">{cell("") * 10_000}</row>'), _COLUMNS),
    "a part that bursts": (lambda: xlsx(_FINE + " " * 6_000_000), _NEEDS),
    "a list that says 200 MB": (lambda: _says_size(xlsx(_FINE), 200_000_000), _NEEDS),
    "a list that says 4 GB": (lambda: _says_size(xlsx(_FINE), 0xFFFFFFF0), _NEEDS),
    "a list that says too little": (lambda: _says_size(xlsx(_FINE), 5), _DAMAGED),
    "a path upwards": (lambda: zipped(parts_of(sheet_xml(_FINE)), more=(("../../evil.xml", "x"),)), _NEEDS),
    "a path upwards in the middle": (lambda: zipped(parts_of(sheet_xml(_FINE)), more=(("xl/../../evil.xml", "x"),)), _NEEDS),
    "a path from the root": (lambda: zipped(parts_of(sheet_xml(_FINE)), more=(("/etc/evil", "x"),)), _NEEDS),
    "a path with backslashes": (lambda: zipped(parts_of(sheet_xml(_FINE)), more=(("..\\evil", "x"),)), _NEEDS),
    "a path of a drive": (lambda: zipped(parts_of(sheet_xml(_FINE)), more=(("C:evil", "x"),)), _NEEDS),
    "two hundred and one parts": (lambda: zipped(parts_of(sheet_xml(_FINE)), more=tuple((f"p{n}", "") for n in range(197))), _NEEDS),
    "a password": (lambda: _secret(xlsx(_FINE)), _NEEDS),
    "packed by bzip2": (lambda: zipped(parts_of(sheet_xml(_FINE)), how=zipfile.ZIP_BZIP2), _NEEDS),
    "packed by lzma": (lambda: zipped(parts_of(sheet_xml(_FINE)), how=zipfile.ZIP_LZMA), _NEEDS),
    "a document type": (lambda: xlsx(_FINE, before="<!DOCTYPE worksheet>"), _NEEDS),
    "a billion laughs": (lambda: xlsx(_FINE, before=f'<!DOCTYPE w [<!ENTITY a0 "ha">{LAUGHS}]>'), _NEEDS),
    "a file of the machine": (lambda: xlsx(_FINE, before='<!DOCTYPE w [<!ENTITY f SYSTEM "file:///etc/passwd">]>'), _NEEDS),
    "a document type in the strings": (
        lambda: zipped(parts_of(sheet_xml(_FINE)), more=(("xl/sharedStrings.xml", "<!DOCTYPE s><sst/>"),)),
        _NEEDS,
    ),
    "a document type in its links": (lambda: zipped({**parts_of(sheet_xml(_FINE)), "_rels/.rels": "<!DOCTYPE r><r/>"}), _NEEDS),
    "a sheet that is no XML": (lambda: zipped(parts_of("<worksheet><sheetData>")), _DAMAGED),
    "an empty sheet part": (lambda: zipped(parts_of("")), _DAMAGED),
    "a sheet in another encoding that it is not": (
        lambda: zipped(parts_of('<?xml version="1.0" encoding="none-such"?><worksheet/>')),
        _DAMAGED,
    ),
    "half a zip": (lambda: xlsx(_FINE)[:-200], _DAMAGED),
    "a zip spoilt inside": (lambda: _spoilt_inside(xlsx(_FINE * 30)), _DAMAGED),
    "a zip of something else": (lambda: zipped({"word/document.xml": "<d/>"}), "neither an .xlsx nor an .ods"),
    "an empty zip": (lambda: zipped({}), "neither an .xlsx nor an .ods"),
    "a workbook without sheets": (lambda: zipped({"xl/workbook.xml": _BOOK}), "no cell with anything in it"),
    "a workbook that names no sheet it has": (lambda: zipped({"xl/workbook.xml": "<w/>", SHEET: sheet_xml(_FINE)}), ""),
    "only PK": (lambda: b"PK", _DAMAGED),
    "PK and noise": (lambda: b"PK\x03\x04" + bytes(range(256)) * 20, _DAMAGED),
    "ods: a million rows": (lambda: ods(ods_row(ods_cell(), 1_048_576)), _ROWS),
    "ods: sixteen thousand columns": (lambda: ods(ods_row(ods_cell(times=16_384))), _COLUMNS),
    "ods: both": (lambda: ods(ods_row(ods_cell(times=16_384), 1_048_576)), _COLUMNS),
    "ods: a far cell after empty ones": (lambda: ods(ods_row("<table:table-cell/>", 900_000) + ods_row(ods_cell())), _ROWS),
    "ods: a far column after empty ones": (
        lambda: ods(ods_row('<table:table-cell table:number-columns-repeated="9000"/>' + ods_cell())),
        _COLUMNS,
    ),
    "ods: cells without end": (lambda: ods(ods_row(ods_cell(times=400), 19_000)), _CELLS),
    "ods: a billion laughs": (lambda: ods(ods_row(ods_cell()), before=f'<!DOCTYPE w [<!ENTITY a0 "ha">{LAUGHS}]>'), _NEEDS),
    "ods: nothing in it": (lambda: ods(""), "no cell with anything in it"),
    "ods: no content": (lambda: zipped({"mimetype": "application/vnd.oasis.opendocument.spreadsheet"}), "neither an .xlsx nor an .ods"),
    "the old form": (lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "old .xls form"),
    "text with NUL": (lambda: b"Arrow,Mass\nA\x001,50\n", _TEXT),
    "a picture": (lambda: b"\x89PNG\r\n\x1a\n" + bytes(200), _TEXT),
    "a gzip": (lambda: b"\x1f\x8b\x08\x00" + bytes(100), _TEXT),
    "what a terminal would obey": (lambda: b"Arrow,Mass\n\x1b]0;evil\x07,50\n", _TEXT),
    "UTF-16 cut in the middle": (lambda: b"\xff\xfeA\x00r\x00r", _TEXT),
    "rows of text beyond the limit": (lambda: b"a,b\n" * 20_001, _ROWS),
    "columns of text beyond the limit": (lambda: b"a," * 600 + b"b\n", _COLUMNS),
    "a quotation mark never closed": (lambda: b'Arrow,Mass\n1,"' + b"x" * 140_000, "never closed"),
    "more than 20 MB": (lambda: b"a,b\n" * 5_100_000, "larger than 20 MB"),
    "nothing": (lambda: b"", "no cell with anything in it"),
    "only separators": (lambda: b",,,\n,,,\n", "no cell with anything in it"),
    "only a mark": (lambda: b"\xef\xbb\xbf", "no cell with anything in it"),
}
