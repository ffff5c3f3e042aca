"""The enlarger: its lamp in dose, lag, filters, focusing, one set-up turned into another."""
