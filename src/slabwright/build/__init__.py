"""How it gets made: set-out, dig, forms, steel, kit, the order."""
