"""A file of measurements of a made-up arm, near the demo studio's, for tests of ``machine fit``."""

TEXT = """format = 1
machine = "ARM-1"
measured_by = "Student A"
evidence = "invented: arm book, page 5"
frame_rate = "240 Hz"
pull_radius = "200 mm"
hinge_radius = "100 mm"
"""
PULLS = {0.5: (10.1, 7.9), 1.0: (14.6, 11.4), 2.0: (23.5, 18.5), 3.0: (32.5, 25.5), 4.0: (41.4, 32.6)}
FRAMES = {2.0: 391, 3.0: 280, 4.0: 219}
COAST = {0: 251, 8: 199, 16: 156, 24: 120}


def measurements_text(pulls=True, parts=True, spins=True):
    """Return the file with some of its kinds of readings."""
    text = TEXT
    for turns, (winding, easing) in PULLS.items() if pulls else ():
        text += f'\n[[pull]]\nturns = "{turns} turns"\nwinding = "{winding} N"\neasing = "{easing} N"\n'
    if parts:
        text += (
            '\n[[part]]\nname = "inner arm and weight"\nmass = "2.8 kg"\nradius = "160 mm"\ninertia = "0.008 kg.m2"\n'
            '\n[[part]]\nname = "outer arm"\nmass = "400 g"\nradius = "165 mm"\n'
            "beyond_hinge = true\nbare_outer = true\n"
            '\n[[part]]\nname = "flask and cradle"\nmass = "1.2 kg"\nradius = "212 mm"\nbeyond_hinge = true\n'
        )
    for turns, frames in FRAMES.items() if spins else ():
        text += f'\n[[spin]]\nturns = "{turns} turns"\nframes = {frames}\nover_turns = 5\nopens = "36 deg"\n'
        for time, speed in COAST.items() if turns == 3.0 else ():
            text += f'[[spin.coast]]\ntime = "{time} s"\nspeed = "{speed} rpm"\n'
    return text
