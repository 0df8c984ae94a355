target_link_libraries(core_circuit.expect PRIVATE format_appliance_yaml) # shipped ovens
