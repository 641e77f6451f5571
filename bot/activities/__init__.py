"""What happens, decided purely: apply(state, event), then announce(before, after)."""
