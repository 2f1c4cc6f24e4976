"""The picture of a circuit's year, as SVG: read from the published tables of a store, whoever keeps it."""

from auditor.picture.pictures import Drawing, KeyLine, Picture, pictures, pictures_in_turn

__all__ = ["Drawing", "KeyLine", "Picture", "pictures", "pictures_in_turn"]
