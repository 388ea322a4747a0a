"""Water: what the air asks for, what a pot holds, what a barrel catches, what lime rainwater takes."""
