"""Our own exploded views: solids, shapes of parts, figures of steps, pages."""
