"""What answers look like on paper: one document, written as plain text, Markdown or a page to print."""
