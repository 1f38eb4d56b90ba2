"""What the rig weighs: contents of tanks, loads of axles and wheels, the centre of gravity, the order to fill in."""
