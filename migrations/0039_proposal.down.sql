drop table proposal_billed, proposal_answer, proposal;
