"""Words in which lists of finds are kept in English, German, French and Spanish, for headings and for materials.

Common practice, no source: ordinary words of the four languages, without accents, in small letters.
"""

from __future__ import annotations

import re
from typing import Final

from simstore.scenario.reading.list_rows import folded

HEADINGS: Final[dict[str, tuple[str, ...]]] = {
    "id": (
        "enclosure", "box no", "box number", "box", "bag no", "container no", "find no", "find number", "small find",
        "inventory no", "inventory number", "accession no", "accession number", "number", "no", "id", "ref",
        "reference", "label", "schachtel nr", "behalter nr", "kiste nr", "dose nr", "fundnummer", "fund nr",
        "inventarnummer", "inv nr", "nummer", "nr", "numero de boite", "no boite", "boite no", "numero d inventaire",
        "no inventaire", "no inv", "numero", "identifiant", "numero de caja", "caja n", "n caja", "no caja",
        "numero de inventario", "n inventario", "sigla", "no de boite", "no de caja",
        "no de inventario", "no d inventaire",
    ),
    "kind": (
        "kind", "housing", "container", "container type", "box type", "type of box", "packaging", "packed",
        "packed in",
        "enclosure type", "storage", "behalter", "behaltnis", "behaltertyp", "verpackung", "art der verpackung",
        "schachtel", "kiste", "contenant", "conditionnement", "type de boite", "emballage", "contenedor",
        "tipo de caja",
        "embalaje", "envase", "recipiente", "type", "typ", "tipo",
    ),
    "metal": (
        "metal", "material", "materials", "alloy", "metall", "werkstoff", "materiau", "materiaux", "matiere",
        "aleacion", "materia",
    ),
    "objects": (
        "objects", "objects in it", "number of objects", "no of objects", "count", "qty", "quantity",
        "pieces", "items",
        "finds", "no of finds", "anzahl", "stuck", "stuckzahl", "menge", "anzahl objekte", "anzahl funde", "nombre",
        "nb objets", "nombre d objets", "quantite", "pieces nb", "cantidad", "n objetos", "numero de objetos",
        "piezas",
        "unidades",
    ),
    "volume_m3": (
        "volume", "vol", "capacity", "box volume", "size", "volumen", "inhalt", "rauminhalt", "fassungsvermogen",
        "contenance", "capacite", "capacidad",
    ),
    "empty_m3": (
        "empty volume", "air volume", "free volume", "leerraum", "luftvolumen", "freies volumen", "volume libre",
        "volume d air", "volumen libre", "volumen de aire",
    ),
    "packet": (
        "packet", "gel packet", "gel type", "type of gel", "gel", "silica gel", "desiccant", "kieselgel", "silikagel",
        "silicagel", "trockenmittel", "gel de silice", "dessicant", "gel de silice type", "gel de silice tipo",
        "desecante",
    ),
    "packets": (
        "packets", "no of packets", "number of packets", "gel packets", "sachets", "no of sachets", "beutel",
        "anzahl beutel", "paketchen", "nombre de sachets", "nb sachets", "bolsitas", "numero de bolsitas", "sobres",
    ),
    "leak_per_day": (
        "leak", "leak rate", "leakage", "air exchange", "air changes", "air changes per day", "leckrate",
        "luftwechsel",
        "luftwechselrate", "taux de fuite", "fuite", "renouvellement d air", "fuga", "tasa de fuga",
        "renovaciones de aire",
    ),
    "last_regenerated": (
        "last regenerated", "last changed", "gel changed", "date gel last changed", "gel last changed",
        "last change", "gel date", "date of gel", "date gel changed",
        "last dried", "gel dried", "regenerated", "date changed", "date", "getrocknet am", "zuletzt getrocknet",
        "letzter wechsel", "gel gewechselt", "gewechselt am", "kieselgel getauscht", "gel getauscht",
        "regeneriert", "regeneriert am", "datum",
        "derniere regeneration", "date de changement", "dernier changement", "change le", "regenere le",
        "ultima regeneracion", "ultimo cambio", "cambiado el", "fecha de cambio", "fecha",
    ),
    "gel_water_pct": (
        "gel water", "water in gel", "water content of gel", "wassergehalt", "wassergehalt gel", "teneur en eau",
        "contenido de agua",
    ),
    "place": (
        "place", "location", "shelf", "bay", "store location", "rack", "drawer", "standort", "lagerort", "regal",
        "fach", "ort", "emplacement", "etagere", "rayon", "tablette", "localisation", "ubicacion", "estante",
        "estanteria", "lugar", "signatura",
    ),
}  # fmt: skip
METALS: Final[dict[str, tuple[str, ...]]] = {
    "iron": ("iron", "fe", "steel", "eisen", "stahl", "fer", "acier", "hierro", "acero", "ferrous"),
    "copper": (
        "copper", "cu", "bronze", "brass", "kupfer", "messing", "buntmetall", "cuivre", "laiton", "cobre", "bronce",
        "laton", "cuprous",
    ),
    "lead": ("lead", "pb", "blei", "plomb", "plomo"),
    "silver": ("silver", "ag", "silber", "argent", "plata"),
    "gold": ("gold", "au", "or", "oro"),
    "tin": ("tin", "sn", "pewter", "zinn", "etain", "estano", "peltre"),
    "zinc": ("zinc", "zn", "zink", "cinc"),
}  # fmt: skip
BOX: Final = (
    "box",
    "boxes",
    "dose",
    "schachtel",
    "kiste",
    "boite",
    "caja",
    "tub",
    "tupper",
    "tupperware",
    "container",
    "behalter",
    "behaltnis",
    "crate",
)
BAG: Final = ("bag", "bags", "beutel", "tute", "sachet", "sac", "bolsa", "pouch")
ORGANIC: Final = (
    "wood", "leather", "bone", "ivory", "textile", "antler", "horn", "holz", "leder", "knochen", "elfenbein",
    "textil",
    "geweih", "bois", "cuir", "os", "ivoire", "madera", "cuero", "hueso", "marfil", "tejido",
)  # fmt: skip


def metals_named(text: str) -> list[str]:
    """List the metals that a text names, in its order."""
    found = [name for word in folded(text).split() for name, known in METALS.items() if _is_one_of(word, known)]
    return list(dict.fromkeys(found))


def metal_word(text: str) -> str:
    """Return the word of a text that names its metal, as it stands there; empty for none."""
    words = re.findall(r"[^\W\d_]+", text)
    return next((word for word in words if metals_named(word)), "")


def organics_named(text: str) -> list[str]:
    """List words for what must not dry out."""
    return [word for word in folded(text).split() if word in ORGANIC]


def _is_one_of(word: str, known: tuple[str, ...]) -> bool:
    """Whether a word is one of those known, or a compound such as "Eisennagel" that begins with one."""
    return word in known or any(len(one) > 3 and word.startswith(one) for one in known)


def form_named(text: str) -> str:
    """Tell whether a text names a box or a bag; empty for neither."""
    words = set(folded(text).split())
    return "box" if _names(words, BOX) else "bag" if _names(words, BAG) else ""


def _names(words: set[str], known: tuple[str, ...]) -> bool:
    return any(word == one or (len(one) > 3 and word.endswith(one)) for word in words for one in known)
