"""The song: plan, outline, mix, finish, render."""
