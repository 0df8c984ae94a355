# The drawn instances stand with the tests.
target_sources(bench.decision PRIVATE ${PROJECT_SOURCE_DIR}/tests/support/gap.c
  ${PROJECT_SOURCE_DIR}/tests/support/instances.c)
target_include_directories(bench.decision PRIVATE ${PROJECT_SOURCE_DIR}/tests)
target_link_libraries(bench.decision PRIVATE core_decision)
