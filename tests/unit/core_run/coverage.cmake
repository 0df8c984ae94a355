target_sources(core_run.coverage PRIVATE ${CMAKE_CURRENT_SOURCE_DIR}/unit/core_run/support/made_oven.c)
target_include_directories(core_run.coverage PRIVATE ${CMAKE_CURRENT_SOURCE_DIR}/unit/core_run/support)
