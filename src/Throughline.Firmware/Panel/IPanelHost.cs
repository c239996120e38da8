namespace Throughline.Firmware;

/// <summary>What a panel asks of the instrument about it.</summary>
public interface IPanelHost
{
    /// <summary>A calibration begins.</summary>
    void Begin();

    /// <summary>It was left. Called after a judgement too.</summary>
    void Abandon();

    /// <summary>Another standard, or the same again: the reading has to become steady anew.</summary>
    void Settle();

    /// <summary>The value of a standard was entered.</summary>
    /// <param name="standard">From 0.</param>
    /// <param name="entered">In units of its <see cref="PanelProgramEntry"/>.</param>
    void Enter(int standard, long entered);

    /// <summary>Takes the reading of a standard, whose value was entered just before.</summary>
    void Take(int standard);

    /// <summary>Every standard was taken: fits the line, keeps it when it is good, and says whether it is.</summary>
    bool Judge();

    /// <summary>Both currents of the output's trim were taken: fits the line, keeps it when both entries are accepted, and says whether they are.</summary>
    /// <param name="low">What the meter showed at the lower current, in units of its <see cref="PanelProgramEntry"/>.</param>
    /// <param name="high">The same at the higher one.</param>
    bool JudgeTrim(long low, long high);

    /// <summary>Puts the settings back to factory values.</summary>
    void Restore();

    /// <summary>Another language was chosen.</summary>
    void Speak(int language);
}
