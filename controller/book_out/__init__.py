"""The book out and in again: tables for spreadsheets, JSON, whole archives, and figures."""
