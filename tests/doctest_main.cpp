// The one translation unit that carries doctest's runner.
// The header may have been read before, among the precompiled ones: then the second name alone has
// no effect.
#define DOCTEST_CONFIG_IMPLEMENT
#define DOCTEST_CONFIG_IMPLEMENT_WITH_MAIN
#include <doctest/doctest.h>
