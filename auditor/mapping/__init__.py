"""Any export by a map: a TOML file that says once what one kind of export means in terms of the contract."""

from auditor.mapping.applying import apply
from auditor.mapping.drafts import draft
from auditor.mapping.preview import preview
from auditor.mapping.spec import Map, read_map
from auditor.mapping.together import mapped_tables

__all__ = ["Map", "apply", "draft", "mapped_tables", "preview", "read_map"]
