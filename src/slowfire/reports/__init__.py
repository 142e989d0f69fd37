"""Sheets to print and tables to hand on, made from results alone."""
