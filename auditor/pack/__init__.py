"""The pack for a code reviewer: a document a site, the same facts as JSON, a matrix of many sites."""

from auditor.pack.writing import Asked, write_packs

__all__ = ["Asked", "write_packs"]
