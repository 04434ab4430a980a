"""What a vee block and a dial show of a ball: its odd lobes, with what the vee and the dial leave open."""
