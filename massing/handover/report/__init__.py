"""A report a client and a builder read: a checked scheme in, one page that needs no network out."""
