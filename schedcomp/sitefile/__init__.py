"""Site files: from a path or a text to a checked site."""

from schedcomp.sitefile.load import load_site, site_from_source

__all__ = ["load_site", "site_from_source"]
