"""What flowed out of the battery and back into it, and how sure that is."""
