"""From a plan and its aims to a plan that meets them: new, resized, swapped, treated, what if."""
