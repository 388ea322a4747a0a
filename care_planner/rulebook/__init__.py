"""Rule packs: how a taxon's year follows the weather, and which work opens and closes when."""
