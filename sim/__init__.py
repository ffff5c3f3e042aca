"""The outside world, imagined: lamp physics, paper, safelights, a printer's hands, virtual time."""
