"""The planning service: plain typed computation, no Django."""
