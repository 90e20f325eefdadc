"""The run sheet for a screen: one file with everything in it, from the same content as the paper."""
