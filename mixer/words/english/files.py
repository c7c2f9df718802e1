"""Sentences about sound files, catalogs and folders."""
