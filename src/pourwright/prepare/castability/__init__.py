"""Whether a piece can be cast, said on the body itself: a screen by shape and by rules of practice."""
