"""An answer as an outline, and the outline as terminal text, Markdown or HTML; and as JSON."""
