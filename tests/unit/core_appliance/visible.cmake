target_link_libraries(core_appliance.visible PRIVATE format_appliance_yaml core_circuit) # every fault, solved
