"""Runs every example and writes the catalogue anew."""

from tests.catalogue.examples import CATALOGUE, made_anew

CATALOGUE.write_text(made_anew(), "utf-8")
