"""What runs on a ramp and floats in a bowl tell: veer, mass off the centre, the same spot against chance."""
