"""Demo kits: an invented truck, its records and its drawings, made by scripts.

Everything here is invented: maker, kit, part numbers, texts and figures.  Facts of the trade (which
joint gets thread-locking liquid, what goes before what) are common practice; fasteners carry
the designations of their ISO standards.
"""
