"""Linear and integer programmes, solved by HiGHS."""
