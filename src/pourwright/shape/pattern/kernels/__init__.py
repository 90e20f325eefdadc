"""Compiled loops over triangle meshes; the readable side is in the modules that call them."""
