target_sources(edge_store.crash PRIVATE ${CMAKE_CURRENT_SOURCE_DIR}/support/disk/failing_disk.c
  ${CMAKE_CURRENT_SOURCE_DIR}/support/disk/cut_wire.c)
