"""The MusicXML schema that ships inside partitura, ready to validate with.

Source: MusicXML 3.1 (W3C Community Group, 2017), ``musicxml.xsd``. It imports two more schemas
from the net; what it uses of them stands here, so that nothing is fetched.
"""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from lxml import etree

_ATTRIBUTES = {
    "/xml.xsd": ("http://www.w3.org/XML/1998/namespace", ("lang", "space")),
    "/xlink.xsd": (
        "http://www.w3.org/1999/xlink",
        ("type", "href", "role", "title", "show", "actuate"),
    ),
}


class _Imports(etree.Resolver):
    def resolve(self, system_url: str, public_id: str, context: Any) -> Any:
        for ending, (namespace, names) in _ATTRIBUTES.items():
            if system_url.endswith(ending):
                said = "".join(f'<xs:attribute name="{n}" type="xs:string"/>' for n in names)
                schema = (
                    '<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" '
                    f'targetNamespace="{namespace}">{said}</xs:schema>'
                )
                return self.resolve_string(schema, context)
        return None


@cache
def musicxml_schema() -> etree.XMLSchema:
    """The schema."""
    found = find_spec("partitura")
    assert found is not None
    assert found.origin is not None
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Imports())
    path = Path(found.origin).parent / "assets" / "musicxml.xsd"
    return etree.XMLSchema(etree.parse(path, parser))


def invalidities(canonical: bytes) -> list[str]:
    """What the schema has against a score, the first few."""
    schema = musicxml_schema()
    schema.validate(etree.fromstring(canonical))
    return [f"line {error.line}: {error.message}" for error in schema.error_log][:5]
